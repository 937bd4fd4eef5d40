/* Firmware for boards with an ATmega328P and one or two HX711: counts in, lines out.
 *
 * Each word of the converter becomes one line of the protocol strikebridge-lines, with the time
 * at which it was ready. Between words the board sleeps. Nothing is tared, averaged or clipped
 * here; that is the reader's part. With two cells a line goes out when each has brought a new
 * word, so the slower converter sets the pace. */

#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/power.h>
#include <avr/sleep.h>
#include <avr/wdt.h>
#include <stdbool.h>
#include <stdint.h>

#include "clock.h"
#include "converter.h"
#include "line.h"
#include "pace.h"
#include "pins.h"
#include "port.h"

#define FIRMWARE "avr-1.0"
#ifndef BOARD_NAME
#define BOARD_NAME "wall"
#endif
_Static_assert(sizeof(BOARD_NAME) > 1 && sizeof(BOARD_NAME) <= 33, "a name of 1 to 32 characters");

#define SILENCE_US 1000000UL /* twice the settling at 10 samples a second */

static uint8_t cells;
static struct reading newest[MOST_CELLS];
static uint8_t brought;               /* one bit for each cell with a new word */
static uint32_t heard_us[MOST_CELLS]; /* when it last brought a word or was started anew */
static struct pace pace;
static uint16_t sequence;
static bool has_begun;     /* the first sample since the start is out */
static bool is_introduced; /* the identity is out, and still true */
static uint8_t start_cause __attribute__((section(".noinit")));

/* Before main: after a reset by the watchdog it goes on running, at its shortest time. */
void keep_start_cause(void) __attribute__((naked, used, section(".init3")));
void keep_start_cause(void)
{
    start_cause = MCUSR;
    MCUSR = 0;
    wdt_disable();
}

static const char *start_words(void)
{
    if ((start_cause & _BV(WDRF)) != 0) {
        return "# start: watchdog";
    }
    if ((start_cause & _BV(PORF)) != 0) { /* sets the bit for brown-outs as well */
        return "# start: power-on";
    }
    if ((start_cause & _BV(BORF)) != 0) {
        return "# start: supply too low";
    }
    return (start_cause & _BV(EXTRF)) != 0 ? "# start: reset" : "# start";
}

static bool send_comment(const char *words)
{
    struct line line;
    line_begin(&line, words);
    line_close_comment(&line);
    return port_send(&line);
}

static bool send_identity(void)
{
    struct line line;
    line_begin(&line, "I,1");
    line_word(&line, BOARD_NAME);
    line_word(&line, FIRMWARE);
    line_word(&line, "hx711");
    const uint8_t rate_hz = pace_nominal_hz(&pace);
    if (rate_hz == 0) {
        line_word(&line, ""); /* not known (yet): left empty, never guessed */
        line_word(&line, "");
    } else {
        line_number(&line, rate_hz);
        line_number(&line, rate_hz == 80 ? 50 : 400); /* ms; data sheet */
    }
    line_close(&line);
    return port_send(&line);
}

static void send_sample(uint32_t at_us)
{
    struct line line;
    line_begin(&line, "S");
    line_number(&line, sequence);
    line_number(&line, at_us);
    for (uint8_t cell = 0; cell < cells; cell++) {
        line_count(&line, newest[cell].count);
    }
    line_close(&line);
    /* Where nobody fetches the lines one may not fit: it is lost, and its number tells. */
    (void)port_send(&line);
}

static void finish_sample(uint32_t at_us)
{
    sequence = (uint16_t)(sequence + pace_step(&pace, at_us));
    if (!pace_is_known(&pace)) {
        is_introduced = false;
        return;
    }
    if (!has_begun) {
        has_begun = true;
        sequence = 0;
    }
    is_introduced = is_introduced || send_identity();
    if (is_introduced) {
        send_sample(at_us);
    }
}

static void fetch_words(void)
{
    const uint8_t all = (uint8_t)((1U << cells) - 1U);
    for (uint8_t cell = 0; cell < cells; cell++) {
        if (!converter_take(cell, &newest[cell])) {
            continue;
        }
        heard_us[cell] = newest[cell].at_us;
        brought = (uint8_t)(brought | 1U << cell);
        if (brought == all) {
            brought = 0;
            finish_sample(newest[cell].at_us);
        }
    }
}

static void wake_silent(void)
{
    const uint32_t now_us = clock_us();
    for (uint8_t cell = 0; cell < cells; cell++) {
        if (now_us - heard_us[cell] > SILENCE_US) {
            (void)send_comment(cell == 0 ? "# converter 1 is silent, started anew"
                                         : "# converter 2 is silent, started anew");
            converter_restart(cell);
            heard_us[cell] = now_us;
            brought = 0;
            pace_begin(&pace);
        }
    }
}

static void begin(void)
{
    power_adc_disable();
    power_spi_disable();
    power_twi_disable();
    power_timer0_disable();
    power_timer2_disable();
    PORTD = _BV(SLOW_STRAP);
    PORTB = _BV(TWO_CELLS_STRAP);
    clock_begin();
    port_begin();
    SMCR = SLEEP_MODE_IDLE; /* timer and serial port go on */
    wdt_enable(WDTO_500MS);
    sei();
    (void)send_comment(start_words());
    cells = (PINB & _BV(TWO_CELLS_STRAP)) != 0 ? 1 : 2;
    converter_begin(cells, (PIND & _BV(SLOW_STRAP)) == 0);
}

static void sleep_until_needed(void)
{
    cli();
    if (!converter_is_ready_locked() && !port_is_asked_locked()) {
        sleep_enable();
        sei(); /* takes effect after the next instruction: nothing is missed in between */
        sleep_cpu();
        sleep_disable();
    }
    sei();
}

int main(void)
{
    bool is_asked = false;
    begin();
    for (;;) {
        wdt_reset();
        fetch_words();
        wake_silent();
        is_asked = port_was_asked() || is_asked;
        if (is_asked && send_identity()) {
            is_asked = false;
        }
        sleep_until_needed();
    }
}
