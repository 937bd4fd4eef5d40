#include "hx711.h"

#include <math.h>
#include <string.h>

#include "avr_ioport.h"

/* Data sheet. */
#define BITS 24
#define PULSES 25
#define SHORTEST_CLOCK_US 0.2
#define SHORTEST_WAIT_US 0.1
#define LONGEST_HIGH_US 50.0
#define POWER_DOWN_US 60.0
#define SETTLING_CONVERSIONS 4
#define DATA_DELAY_CYCLES 2 /* 0.1 us after SCK rises, rounded up */

static double period_cycles(const struct hx711 *hx711)
{
    const struct hx711_setup *setup = &hx711->setup;
    double hz = hx711->is_rate_high ? 80.0 : 10.0;
    if (setup->wired_hz > 0.0) {
        hz = setup->wired_hz;
    }
    return (double)CLOCK_HZ / (hz * setup->oscillator);
}

static double us_since(const struct hx711 *hx711, avr_cycle_count_t cycle)
{
    return (double)(hx711->avr->cycle - cycle) * 1e6 / (double)CLOCK_HZ;
}

static void set_data(struct hx711 *hx711, bool level)
{
    if (hx711->is_unplugged) {
        board_release(hx711->board, 'D', hx711->setup.data_pin);
    } else {
        board_drive(hx711->board, 'D', hx711->setup.data_pin, level && !hx711->is_shorted);
    }
}

static avr_cycle_count_t on_conversion(avr_t *avr, avr_cycle_count_t when, void *param);

static void schedule(struct hx711 *hx711)
{
    const double left = hx711->next_cycle - (double)hx711->avr->cycle;
    const avr_cycle_count_t wait = left < 1.0 ? 1 : (avr_cycle_count_t)left;
    avr_cycle_timer_cancel(hx711->avr, on_conversion, hx711);
    avr_cycle_timer_register(hx711->avr, wait, on_conversion, hx711);
}

/* Begin to convert, as after a power-down or a change of the rate: the first word is valid after
 * four conversions, and until then the converter says that it is not ready. */
static void settle(struct hx711 *hx711)
{
    hx711->has_word = false;
    hx711->pulses = 0;
    set_data(hx711, true);
    hx711->next_cycle = (double)hx711->avr->cycle + SETTLING_CONVERSIONS * period_cycles(hx711);
    schedule(hx711);
}

static void show_word(struct hx711 *hx711, int32_t word)
{
    hx711->missed += hx711->has_word;
    hx711->has_word = true;
    hx711->pulses = 0;
    hx711->word = (uint32_t)word & 0xFFFFFFU;
    hx711->ready_cycle = hx711->avr->cycle;
    hx711->conversions++;
    if (hx711->setup.log != NULL) {
        fprintf(hx711->setup.log, "%d %.4f %d\n", hx711->setup.cell + 1,
                board_seconds(hx711->avr) * 1e6, word);
    }
    set_data(hx711, true); /* a word that nobody fetched is renewed by a short pulse */
    set_data(hx711, false);
}

static void end_conversion(struct hx711 *hx711)
{
    const bool is_powered_down =
        hx711->is_clock_high && us_since(hx711, hx711->rise_cycle) > POWER_DOWN_US;
    int32_t word = 0;
    if (hx711->is_stalled || is_powered_down) {
        return;
    }
    if (hx711->pulses > 0 && hx711->has_word) {
        hx711->breaches.cut_by_next_word++;
        return;
    }
    if (feed_word(hx711->feed, hx711->setup.cell, board_seconds(hx711->avr),
                  period_cycles(hx711) / (double)CLOCK_HZ, &word)) {
        show_word(hx711, word);
    }
}

static avr_cycle_count_t on_conversion(avr_t *avr, avr_cycle_count_t when, void *param)
{
    struct hx711 *hx711 = param;
    (void)avr;
    (void)when;
    end_conversion(hx711);
    hx711->next_cycle += period_cycles(hx711);
    schedule(hx711);
    return 0;
}

/* DT follows SCK a little later; whoever looks at once sees the bit before. */
static avr_cycle_count_t on_data(avr_t *avr, avr_cycle_count_t when, void *param)
{
    struct hx711 *hx711 = param;
    (void)avr;
    (void)when;
    if (hx711->pulses > 0 && hx711->pulses <= BITS) {
        set_data(hx711, ((hx711->word >> (BITS - hx711->pulses)) & 1U) != 0);
    } else {
        set_data(hx711, true);
    }
    return 0;
}

static void on_rise(struct hx711 *hx711)
{
    const double low_us = us_since(hx711, hx711->fall_cycle);
    const double wait_us = us_since(hx711, hx711->ready_cycle);
    hx711->rise_cycle = hx711->avr->cycle;
    if (!hx711->has_word) {
        return; /* the start of a power-down, or a breach: the fall will tell */
    }
    if (hx711->pulses == 0) {
        hx711->shortest_wait_us = fmin(hx711->shortest_wait_us, wait_us);
        hx711->breaches.too_quick += wait_us < SHORTEST_WAIT_US;
    } else {
        hx711->shortest_low_us = fmin(hx711->shortest_low_us, low_us);
        hx711->breaches.too_quick += low_us < SHORTEST_CLOCK_US;
    }
    hx711->pulses++;
    avr_cycle_timer_register(hx711->avr, DATA_DELAY_CYCLES, on_data, hx711);
}

static void power_down(struct hx711 *hx711)
{
    hx711->power_downs++;
    hx711->is_stalled = false;
    settle(hx711);
}

static void on_fall(struct hx711 *hx711)
{
    const double high_us = us_since(hx711, hx711->rise_cycle);
    hx711->fall_cycle = hx711->avr->cycle;
    if (high_us > POWER_DOWN_US) {
        hx711->breaches.wrong_pulses += hx711->has_word && hx711->pulses > 1;
        power_down(hx711);
        return;
    }
    hx711->longest_high_us = fmax(hx711->longest_high_us, high_us);
    hx711->shortest_high_us = fmin(hx711->shortest_high_us, high_us);
    hx711->breaches.high_too_long += high_us > LONGEST_HIGH_US;
    hx711->breaches.too_quick += high_us < SHORTEST_CLOCK_US;
    if (!hx711->has_word) {
        /* More pulses than 25, or a read of nothing. */
        hx711->breaches.wrong_pulses += hx711->pulses == PULSES;
        hx711->breaches.read_while_busy += hx711->pulses != PULSES;
    } else if (hx711->pulses == PULSES) {
        hx711->has_word = false;
        hx711->reads++;
    }
}

static void on_clock(struct avr_irq_t *irq, uint32_t value, void *param)
{
    struct hx711 *hx711 = param;
    (void)irq;
    if (hx711->is_unplugged || (value != 0) == hx711->is_clock_high) {
        return;
    }
    hx711->is_clock_high = value != 0;
    if (hx711->is_clock_high) {
        on_rise(hx711);
    } else {
        on_fall(hx711);
    }
}

static void on_rate(struct avr_irq_t *irq, uint32_t value, void *param)
{
    struct hx711 *hx711 = param;
    (void)irq;
    if ((value != 0) != hx711->is_rate_high) {
        hx711->is_rate_high = value != 0;
        settle(hx711);
    }
}

void hx711_begin(struct hx711 *hx711, const struct hx711_setup *setup, struct board *board,
                 struct feed *feed)
{
    memset(hx711, 0, sizeof *hx711);
    hx711->setup = *setup;
    hx711->avr = board->avr;
    hx711->board = board;
    hx711->feed = feed;
    hx711->shortest_high_us = hx711->shortest_low_us = hx711->shortest_wait_us = INFINITY;
    avr_irq_t *pins = avr_io_getirq(board->avr, AVR_IOCTL_IOPORT_GETIRQ('D'), 0);
    avr_irq_register_notify(pins + setup->clock_pin, on_clock, hx711);
    avr_irq_register_notify(pins + setup->rate_pin, on_rate, hx711);
    settle(hx711);
}

void hx711_carry_on(struct hx711 *hx711)
{
    schedule(hx711);
}

void hx711_stall(struct hx711 *hx711)
{
    hx711->is_stalled = true;
}

void hx711_plug(struct hx711 *hx711, bool is_unplugged)
{
    hx711->is_unplugged = is_unplugged;
    settle(hx711);
}

void hx711_short(struct hx711 *hx711, bool is_shorted)
{
    hx711->is_shorted = is_shorted;
    settle(hx711);
}

void hx711_wire(struct hx711 *hx711, double wired_hz)
{
    hx711->setup.wired_hz = wired_hz;
    settle(hx711);
}

static void print_us(FILE *file, const char *name, double us)
{
    if (isfinite(us)) {
        fprintf(file, "\"%s\": %.4f, ", name, us);
    } else {
        fprintf(file, "\"%s\": null, ", name);
    }
}

void hx711_report(const struct hx711 *hx711, FILE *file)
{
    const struct hx711_breaches *breaches = &hx711->breaches;
    fprintf(file, "{\"conversions\": %ld, \"reads\": %ld, \"missed\": %ld, \"power_downs\": %ld, ",
            hx711->conversions, hx711->reads, hx711->missed, hx711->power_downs);
    print_us(file, "longest_high_us", hx711->longest_high_us);
    print_us(file, "shortest_high_us", hx711->shortest_high_us);
    print_us(file, "shortest_low_us", hx711->shortest_low_us);
    print_us(file, "shortest_wait_us", hx711->shortest_wait_us);
    fprintf(file,
            "\"breaches\": {\"read_while_busy\": %ld, \"wrong_pulses\": %ld, "
            "\"high_too_long\": %ld, \"too_quick\": %ld, \"cut_by_next_word\": %ld}}",
            breaches->read_while_busy, breaches->wrong_pulses, breaches->high_too_long,
            breaches->too_quick, breaches->cut_by_next_word);
}
