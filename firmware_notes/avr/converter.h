/* One or two HX711 converters, each with its own clock line.
 *
 * Each runs on an oscillator of its own, so two never stay in step: each word is fetched as soon
 * as it is ready, never while the next one is being written. */

#ifndef CONVERTER_H
#define CONVERTER_H

#include <stdbool.h>
#include <stdint.h>

#define MOST_CELLS 2

struct reading {
    uint32_t at_us; /* when the converter said that the word is ready */
    int32_t count;  /* 24 bits, signed; the end codes 8388607 and -8388608 are left as they are */
};

/* Set up the pins and start the converters.
 * cells: 1 or 2.
 * is_slow: true for 10 samples a second, where RATE is wired to this board. */
void converter_begin(uint8_t cells, bool is_slow);

/* Start one converter anew through its power-down state. */
void converter_restart(uint8_t cell);

/* Fetch a word if there is one.
 * Returns false if none is ready, or if the converter did not take part in the reading. */
bool converter_take(uint8_t cell, struct reading *reading);

/* True if a word is ready; interrupts must be off. */
bool converter_is_ready_locked(void);

#endif
