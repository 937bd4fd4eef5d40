/* Which pin is which. wiring.md and avr.md show the same; change them together. */

#ifndef PINS_H
#define PINS_H

#include <avr/io.h>

/* Port D; in brackets what is printed on the usual boards. The data pins are those of the
 * external interrupts INT0 and INT1 and cannot be others. */
#define CELL_1_DATA PD2  /* (2) DT of the first converter */
#define CELL_2_DATA PD3  /* (3) DT of the second */
#define CELL_1_CLOCK PD4 /* (4) SCK of the first */
#define CELL_2_CLOCK PD5 /* (5) SCK of the second */
#define RATE_PIN PD6     /* (6) to the RATE pins of the converters through 1 kilohm: high is 80 */
#define SLOW_STRAP PD7   /* (7) to ground: 10 samples a second instead of 80 */

/* Port B. */
#define TWO_CELLS_STRAP PB0 /* (8) to ground: two cells */

#endif
