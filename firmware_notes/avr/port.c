#include "port.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <stdint.h>
#include <util/atomic.h>

#define BAUD 115200
#define BAUD_TOL 3 /* 16 MHz gives 2.1 % more, which the usual USB bridges take */
#include <util/setbaud.h>

#define ERRORS (_BV(FE0) | _BV(DOR0) | _BV(UPE0))

/* A ring of 256 bytes; its places wrap by themselves, and one stays free. */
static volatile char ring[256];
static volatile uint8_t put_at;
static volatile uint8_t sent_to;

static enum { EMPTY, QUESTION, OTHER } incoming; /* the line that arrives, so far */
static volatile bool is_asked;

ISR(USART_UDRE_vect)
{
    if (sent_to == put_at) {
        UCSR0B &= (uint8_t)~_BV(UDRIE0);
        return;
    }
    UDR0 = (uint8_t)ring[sent_to];
    sent_to++;
}

ISR(USART_RX_vect)
{
    const bool is_broken = (UCSR0A & ERRORS) != 0; /* to be read before the byte is */
    const char byte = (char)UDR0;
    if (byte == '\n') {
        is_asked = is_asked || (incoming == QUESTION && !is_broken);
        incoming = EMPTY;
    } else if (byte != '\r') {
        incoming = incoming == EMPTY && byte == '?' && !is_broken ? QUESTION : OTHER;
    }
}

void port_begin(void)
{
    UBRR0 = UBRR_VALUE;
#if USE_2X
    UCSR0A = _BV(U2X0);
#endif
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
    UCSR0B = _BV(RXEN0) | _BV(TXEN0) | _BV(RXCIE0);
}

bool port_send(const struct line *line)
{
    const uint8_t room = (uint8_t)(sent_to - put_at - 1);
    if (line->length > room) {
        return false;
    }
    for (uint8_t i = 0; i < line->length; i++) {
        ring[put_at] = line->text[i];
        put_at++;
    }
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        UCSR0B |= _BV(UDRIE0);
    }
    return true;
}

bool port_was_asked(void)
{
    bool was_asked = false;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        was_asked = is_asked;
        is_asked = false;
    }
    return was_asked;
}

bool port_is_asked_locked(void)
{
    return is_asked;
}
