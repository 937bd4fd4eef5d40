/* The board around the microcontroller: what drives its input pins. */

#ifndef BOARD_H
#define BOARD_H

#include <stdbool.h>
#include <stdint.h>

#include "sim_avr.h"

#define CLOCK_HZ 16000000UL
#define MOST_CELLS 2

struct port {
    char name;
    uint8_t driven; /* one bit for each pin that something outside drives */
    uint8_t levels;
};

struct board {
    avr_t *avr;
    struct port ports[2];
};

void board_begin(struct board *board, avr_t *avr);

/* Drive a pin from outside, or let go of it, so that the pull-up wins. */
void board_drive(struct board *board, char port, int pin, bool level);
void board_release(struct board *board, char port, int pin);

/* Say everything again after a reset of the microcontroller. */
void board_restate(struct board *board);

/* Simulated seconds since the power came on. */
double board_seconds(const avr_t *avr);

#endif
