#include "clock.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <util/atomic.h>

#if F_CPU != 16000000UL
#error "The clock counts half microseconds: a crystal of 16 MHz, divided by 8."
#endif

static volatile uint32_t overflows; /* of 32 768 us */

ISR(TIMER1_OVF_vect)
{
    overflows++;
}

void clock_begin(void)
{
    TCCR1A = 0;
    TCCR1B = _BV(CS11); /* divided by 8 */
    TIMSK1 = _BV(TOIE1);
}

uint32_t clock_us_locked(void)
{
    const uint16_t half_us = TCNT1;
    uint32_t turns = overflows;
    /* An overflow whose interrupt still waits is not counted yet. It came before this reading
     * of the timer only if the timer has just begun again. */
    if ((TIFR1 & _BV(TOV1)) != 0 && half_us < 0x8000U) {
        turns++;
    }
    return (turns << 15) | (half_us >> 1);
}

uint32_t clock_us(void)
{
    uint32_t us = 0;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        us = clock_us_locked();
    }
    return us;
}
