/* A model of the HX711, by its data sheet, that also holds the firmware to the data sheet. */

#ifndef HX711_H
#define HX711_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

#include "board.h"
#include "feed.h"
#include "sim_cycle_timers.h"
#include "sim_irq.h"

/* How often the firmware broke a rule; all must stay 0. */
struct hx711_breaches {
    long read_while_busy;  /* a pulse although no word was ready */
    long wrong_pulses;     /* a word was fetched with another number of pulses than 25 */
    long high_too_long;    /* SCK high for more than 50 us, and no power-down */
    long too_quick;        /* SCK high or low for less than 0.2 us, or 0.1 us after DT fell */
    long cut_by_next_word; /* a conversion ended while its forerunner was being fetched */
};

struct hx711_setup {
    int cell;          /* 0 or 1: which column of the feed */
    int data_pin;      /* in port D */
    int clock_pin;     /* in port D */
    int rate_pin;      /* in port D */
    double wired_hz;   /* nominal rate by its own wiring; 0 if RATE hangs on the board */
    double oscillator; /* its oscillator is so many times faster than printed */
    FILE *log;         /* every word with its time, or NULL */
};

struct hx711 {
    struct hx711_setup setup;
    avr_t *avr;
    struct board *board;
    struct feed *feed;
    double next_cycle; /* end of the conversion under way */
    bool is_rate_high;
    bool is_clock_high;
    bool is_stalled;   /* silent until it is powered down */
    bool is_unplugged; /* its lines hang in the air */
    bool is_shorted;   /* DT lies at ground */
    bool has_word;
    uint32_t word;
    int pulses; /* since the word was ready */
    avr_cycle_count_t ready_cycle;
    avr_cycle_count_t rise_cycle;
    avr_cycle_count_t fall_cycle;
    long conversions;
    long reads;
    long missed; /* words that nobody fetched */
    long power_downs;
    double longest_high_us;
    double shortest_high_us;
    double shortest_low_us;
    double shortest_wait_us; /* from the fall of DT to the first pulse */
    struct hx711_breaches breaches;
};

void hx711_begin(struct hx711 *hx711, const struct hx711_setup *setup, struct board *board,
                 struct feed *feed);

/* Go on after a reset of the microcontroller, which forgets all timers of the simulation. */
void hx711_carry_on(struct hx711 *hx711);

/* Faults to be put in. */
void hx711_stall(struct hx711 *hx711);
void hx711_plug(struct hx711 *hx711, bool is_unplugged);
void hx711_short(struct hx711 *hx711, bool is_shorted);
void hx711_wire(struct hx711 *hx711, double wired_hz);

/* Print what was seen as a JSON object. */
void hx711_report(const struct hx711 *hx711, FILE *file);

#endif
