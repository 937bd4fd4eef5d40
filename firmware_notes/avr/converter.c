/* Times are those of the HX711's data sheet: DT falls when a word is ready; 24 pulses on SCK
 * bring it, most significant bit first; the 25th chooses channel A at gain 128 again and lets DT
 * rise. SCK is high for 0.2 to 50 us and low for 0.2 us or more, data are valid 0.1 us after it
 * rises. High for more than 60 us powers the converter down; low again, it starts anew. */

#include "converter.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <util/atomic.h>
#include <util/delay.h>

#include "clock.h"
#include "pins.h"

#define BITS 24
#define PULSE_US 1
#define POWER_DOWN_US 100

struct pins {
    uint8_t data;      /* in port D */
    uint8_t clock;     /* in port D */
    uint8_t interrupt; /* in EIMSK and EIFR, falling edge of data */
};

static const struct pins PINS[MOST_CELLS] = {
    {_BV(CELL_1_DATA), _BV(CELL_1_CLOCK), _BV(INT0)},
    {_BV(CELL_2_DATA), _BV(CELL_2_CLOCK), _BV(INT1)},
};

static volatile bool is_ready[MOST_CELLS];
static volatile uint32_t ready_us[MOST_CELLS];

static void note_ready(uint8_t cell)
{
    EIMSK &= (uint8_t)~PINS[cell].interrupt; /* DT moves while the word is fetched */
    ready_us[cell] = clock_us_locked();
    is_ready[cell] = true;
}

ISR(INT0_vect)
{
    note_ready(0);
}

ISR(INT1_vect)
{
    note_ready(1);
}

/* Let DT announce the next word. A word may be ready already, its edge unseen. */
static void listen(uint8_t cell, bool may_be_ready)
{
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        is_ready[cell] = false;
        EIFR = PINS[cell].interrupt; /* forget the edges of the bits; written as 1 to clear */
        EIMSK |= PINS[cell].interrupt;
        if (may_be_ready && (PIND & PINS[cell].data) == 0) {
            note_ready(cell);
        }
    }
}

/* Give one pulse; no interrupt may stretch it into a power-down.
 * Returns the level of DT while SCK is high. */
static bool pulse(const struct pins *pins)
{
    bool is_high = false;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        PORTD |= pins->clock;
        _delay_us(PULSE_US);
        is_high = (PIND & pins->data) != 0;
        PORTD &= (uint8_t)~pins->clock;
    }
    _delay_us(PULSE_US);
    return is_high;
}

void converter_begin(uint8_t cells, bool is_slow)
{
    PORTD |= _BV(CELL_1_DATA) | _BV(CELL_2_DATA); /* pulled up: nothing there is not ready */
    if (is_slow) {
        PORTD &= (uint8_t)~_BV(RATE_PIN);
    } else {
        PORTD |= _BV(RATE_PIN);
    }
    DDRD |= _BV(CELL_1_CLOCK) | _BV(CELL_2_CLOCK) | _BV(RATE_PIN);
    EICRA = _BV(ISC01) | _BV(ISC11); /* falling edges */
    for (uint8_t cell = 0; cell < cells; cell++) {
        converter_restart(cell);
    }
}

void converter_restart(uint8_t cell)
{
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        EIMSK &= (uint8_t)~PINS[cell].interrupt;
        PORTD |= PINS[cell].clock;
    }
    _delay_us(POWER_DOWN_US);
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        PORTD &= (uint8_t)~PINS[cell].clock;
    }
    listen(cell, false);
}

bool converter_take(uint8_t cell, struct reading *reading)
{
    const struct pins *pins = &PINS[cell];
    if (!is_ready[cell]) {
        return false;
    }
    uint32_t word = 0;
    for (uint8_t bit = 0; bit < BITS; bit++) {
        word = (word << 1) | (pulse(pins) ? 1U : 0U);
    }
    /* The 25th pulse lets DT rise. Where it stays low the line is shorted or the converter has
     * gone, and the word is none. */
    const bool is_word = pulse(pins);
    if ((word & 0x800000UL) != 0) {
        word |= 0xFF000000UL;
    }
    reading->count = (int32_t)word;
    reading->at_us = ready_us[cell]; /* its interrupt is off: nobody writes it now */
    listen(cell, is_word);
    return is_word;
}

bool converter_is_ready_locked(void)
{
    return is_ready[0] || is_ready[1];
}
