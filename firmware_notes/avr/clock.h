/* The board's clock: microseconds in 32 bits, free-running, around every 71.6 minutes. */

#ifndef CLOCK_H
#define CLOCK_H

#include <stdint.h>

/* Start timer 1, which also wakes the board every 32.8 ms. */
void clock_begin(void);

/* Microseconds since clock_begin; interrupts must be off. */
uint32_t clock_us_locked(void);

/* Microseconds since clock_begin. */
uint32_t clock_us(void);

#endif
