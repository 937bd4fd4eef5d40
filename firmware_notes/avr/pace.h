/* The converter's pace: its true period, and how many conversions went by between two words. */

#ifndef PACE_H
#define PACE_H

#include <stdbool.h>
#include <stdint.h>

struct pace {
    uint32_t period_us; /* 0 until it was first known */
    uint32_t first_us;  /* of the words that are measured by */
    uint32_t last_us;
    uint8_t seen;   /* words since the pace was last begun; stays at the number needed */
    uint8_t doubts; /* steps in a row that were not one period */
};

/* Begin anew, as after a restart of a converter: the next words settle and are measured by. */
void pace_begin(struct pace *pace);

/* Take note of a word.
 * at_us: when it was ready.
 * Returns how many conversions went by since the word before, 1 or more. */
uint16_t pace_step(struct pace *pace, uint32_t at_us);

/* True once the period is measured and the converter has settled. */
bool pace_is_known(const struct pace *pace);

/* The nominal rate of an HX711, 10 or 80 samples a second; 0 if the pace fits neither. */
uint8_t pace_nominal_hz(const struct pace *pace);

#endif
