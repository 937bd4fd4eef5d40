#include "board.h"

#include <string.h>

#include "avr_ioport.h"

static struct port *port_of(struct board *board, char name)
{
    return name == board->ports[0].name ? &board->ports[0] : &board->ports[1];
}

/* simavr needs to be told twice: with every write to a port it sets all input pins again, those
 * without an outside level to their pull-up. */
static void state(struct board *board, const struct port *port, int pin, bool level)
{
    const uint32_t name = (uint32_t)port->name;
    avr_ioport_external_t outside = {
        .name = name & 0x7FU, .mask = port->driven, .value = port->levels};
    avr_ioctl(board->avr, AVR_IOCTL_IOPORT_SET_EXTERNAL(name), &outside);
    avr_raise_irq(avr_io_getirq(board->avr, AVR_IOCTL_IOPORT_GETIRQ(name), pin), level);
}

void board_begin(struct board *board, avr_t *avr)
{
    memset(board, 0, sizeof *board);
    board->avr = avr;
    board->ports[0].name = 'B';
    board->ports[1].name = 'D';
}

void board_drive(struct board *board, char name, int pin, bool level)
{
    struct port *port = port_of(board, name);
    const uint8_t bit = (uint8_t)(1U << pin);
    port->driven |= bit;
    port->levels = (uint8_t)(level ? port->levels | bit : port->levels & ~bit);
    state(board, port, pin, level);
}

void board_release(struct board *board, char name, int pin)
{
    struct port *port = port_of(board, name);
    port->driven = (uint8_t)(port->driven & ~(1U << pin));
    state(board, port, pin, true);
}

void board_restate(struct board *board)
{
    for (int i = 0; i < 2; i++) {
        const struct port *port = &board->ports[i];
        for (int pin = 0; pin < 8; pin++) {
            const bool level = (((port->driven & port->levels) >> pin) & 1) != 0;
            if (level) {
                state(board, port, pin, false); /* a level that is already there is ignored */
            }
            state(board, port, pin, level);
        }
    }
}

double board_seconds(const avr_t *avr)
{
    return (double)avr->cycle / (double)CLOCK_HZ;
}
