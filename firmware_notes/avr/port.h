/* The serial port: 115 200 baud, 8 data bits, no parity, 1 stop bit. */

#ifndef PORT_H
#define PORT_H

#include <stdbool.h>

#include "line.h"

void port_begin(void);

/* Hand a line over to be sent; it goes out while the board sleeps.
 * Returns false, and sends nothing of it, if there is no room for the whole. */
bool port_send(const struct line *line);

/* True once for each line "?" that has arrived. */
bool port_was_asked(void);

/* True if such a line waits to be seen; interrupts must be off. */
bool port_is_asked_locked(void);

#endif
