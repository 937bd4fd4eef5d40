/* The USB cable: a pseudo-terminal that a program opens as a serial port.
 *
 * Opening the port starts the board, as it does on the usual boards, whose reset hangs on the
 * port's DTR line. A pseudo-terminal has no such line; but whoever opens a serial port throws
 * away what lies in it, and that can be seen from the far end. */

#ifndef WIRE_H
#define WIRE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct wire {
    int ours;
    int theirs; /* stays open, so that there is no hang-up between two readers */
    bool waits; /* a full wire makes the board wait, which no real one does */
    const char *link;
    long sent;
    long dropped;
};

/* link: a symbolic link to the port that is made here. Returns false if it cannot be. */
bool wire_open(struct wire *wire, const char *link, bool waits);

void wire_put(struct wire *wire, uint8_t byte);

/* Look for what arrived, without waiting; is_opened is set if somebody has just opened the port.
 * Returns how many bytes came. */
size_t wire_get(struct wire *wire, uint8_t *bytes, size_t size, bool *is_opened);

/* Wait until there may be something, at most so long. */
void wire_wait(const struct wire *wire, int milliseconds);

/* Wait until the reader has fetched everything: what lies in the wire is lost when it closes. */
void wire_drain(const struct wire *wire);

void wire_close(struct wire *wire);

#endif
