#include "pace.h"

/* Data sheet: an output is valid four conversions after a start. Most converters keep silent so
 * long; for those that do not, four words are left out, and the fifth is the first that counts. */
#define SETTLING_WORDS 4
#define WORDS_NEEDED (SETTLING_WORDS + 1)
#define SMOOTHING 16
#define MOST_DOUBTS 8 /* the rate pin was moved while the board runs, most likely */

/* Converters run up to a fifth off their printed rate; a quarter is allowed. */
#define PERIOD_80_LOW_US 10000UL
#define PERIOD_80_HIGH_US 16667UL
#define PERIOD_10_LOW_US 80000UL
#define PERIOD_10_HIGH_US 133333UL

void pace_begin(struct pace *pace)
{
    pace->seen = 0;
    pace->doubts = 0;
}

/* How many periods went by. */
static uint16_t passed(const struct pace *pace, uint32_t elapsed_us)
{
    if (pace->period_us == 0) {
        return 1;
    }
    const uint32_t periods = (elapsed_us + pace->period_us / 2) / pace->period_us;
    return periods == 0 ? 1 : (uint16_t)periods;
}

static void measure(struct pace *pace, uint32_t at_us)
{
    if (pace->seen == 0) {
        pace->first_us = at_us;
    }
    pace->seen++;
    if (pace->seen == WORDS_NEEDED) {
        pace->period_us = (at_us - pace->first_us) / SETTLING_WORDS;
    }
}

/* Follow the slow drift of the oscillator, or see that the pace is another one. */
static void follow(struct pace *pace, uint32_t elapsed_us)
{
    const uint32_t half_us = pace->period_us / 2;
    if (elapsed_us > half_us && elapsed_us < pace->period_us + half_us) {
        const int32_t off_us = (int32_t)(elapsed_us - pace->period_us);
        pace->period_us += (uint32_t)(off_us / SMOOTHING);
        pace->doubts = 0;
    } else if (++pace->doubts == MOST_DOUBTS) {
        pace_begin(pace);
    }
}

uint16_t pace_step(struct pace *pace, uint32_t at_us)
{
    const uint32_t elapsed_us = at_us - pace->last_us;
    /* While it is measured anew the old period says nothing, but for the time away before it. */
    const uint16_t steps =
        pace_is_known(pace) || pace->seen == 0 ? passed(pace, elapsed_us) : 1;
    pace->last_us = at_us;
    if (pace_is_known(pace)) {
        follow(pace, elapsed_us);
    } else {
        measure(pace, at_us);
    }
    return steps;
}

bool pace_is_known(const struct pace *pace)
{
    return pace->seen == WORDS_NEEDED;
}

uint8_t pace_nominal_hz(const struct pace *pace)
{
    if (!pace_is_known(pace)) {
        return 0;
    }
    if (pace->period_us >= PERIOD_80_LOW_US && pace->period_us <= PERIOD_80_HIGH_US) {
        return 80;
    }
    if (pace->period_us >= PERIOD_10_LOW_US && pace->period_us <= PERIOD_10_HIGH_US) {
        return 10;
    }
    return 0;
}
