/* The command line of the simulator. */

#ifndef OPTIONS_H
#define OPTIONS_H

#include <stdbool.h>

#include "board.h"

#define MOST_EVENTS 16

enum happening { RESET, HANG, STALL, UNPLUG, PLUG, SHORT, MEND, WIRE_10, WIRE_80, SET, HEAR };

struct event {
    double at_s; /* simulated time since power-on */
    enum happening what;
    int cell;          /* 0 or 1; of resets and hangs without meaning */
    unsigned address;  /* of SET: where in the memory of the microcontroller */
    unsigned long set; /* of SET: its value, the lowest byte first in memory */
    unsigned width;    /* of SET: bytes */
    const char *bytes; /* of HEAR: what arrives at the port, two hexadecimal digits a byte */
};

struct options {
    const char *firmware;
    const char *link;
    const char *feed;
    const char *log;
    bool is_input;
    bool is_slow; /* the strap for 10 samples a second is set */
    bool waits;   /* for a reader that is slow, which no real board does */
    int cells;    /* 2 sets the strap for two cells */
    double wired_hz;
    double oscillators[MOST_CELLS];
    double pace;    /* simulated seconds in a real one; 0: as fast as it goes */
    double seconds; /* simulated; 0: until the feed ends */
    struct event events[MOST_EVENTS];
    int event_count;
};

/* Returns false, having said why, if the words are wrong. */
bool options_read(struct options *options, int count, char *words[]);

#endif
