/* Run the firmware in simavr beside modelled converters, its serial port on a pseudo-terminal.
 *
 * At the end one JSON object is printed: what was sent, how much the board slept, and for each
 * converter whether the firmware kept to the data sheet. */

#include <math.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "avr_extint.h"
#include "avr_uart.h"
#include "board.h"
#include "feed.h"
#include "hx711.h"
#include "options.h"
#include "sim_avr.h"
#include "sim_elf.h"
#include "sim_time.h"
#include "wire.h"

/* As in ../pins.h. */
#define RATE_PIN 6
#define SLOW_STRAP 7
#define TWO_CELLS_STRAP 0
static const int DATA_PINS[MOST_CELLS] = {2, 3};
static const int CLOCK_PINS[MOST_CELLS] = {4, 5};

#define SLICE (CLOCK_HZ / 1000)
#define DRAIN_S 0.3
#define WAIT_MS 50

struct simulation {
    avr_io_t io; /* first, so that simavr tells of resets */
    struct options options;
    avr_t *avr;
    struct board board;
    struct feed feed;
    struct wire wire;
    struct hx711 converters[MOST_CELLS];
    int converter_count; /* that stand on the table by now */
    avr_irq_t *to_uart;
    FILE *log;
    long resets;
    int next_event;
};

static volatile sig_atomic_t is_stopping;
static double asleep_cycles;

static void on_signal(int number)
{
    (void)number;
    is_stopping = 1;
}

/* simavr would nap in real time here; the pace is kept elsewhere. */
static void on_sleep(avr_t *avr, avr_cycle_count_t cycles)
{
    (void)avr;
    asleep_cycles += (double)cycles;
}

static void log_line(const struct simulation *simulation, const char *what, uint32_t last_byte)
{
    if (last_byte == '\n' && simulation->log != NULL) {
        fprintf(simulation->log, "%s %.4f\n", what, board_seconds(simulation->avr) * 1e6);
    }
}

static void on_byte(struct avr_irq_t *irq, uint32_t value, void *param)
{
    struct simulation *simulation = param;
    (void)irq;
    log_line(simulation, "sent", value);
    wire_put(&simulation->wire, (uint8_t)value);
}

static avr_cycle_count_t restate(avr_t *avr, avr_cycle_count_t when, void *param)
{
    struct simulation *simulation = param;
    (void)avr;
    (void)when;
    board_restate(&simulation->board);
    return 0;
}

/* A reset of the microcontroller, also by its watchdog: the world outside goes on. */
static void on_reset(avr_io_t *io)
{
    struct simulation *simulation = (struct simulation *)io;
    simulation->resets++;
    for (int i = 0; i < simulation->converter_count; i++) {
        hx711_carry_on(&simulation->converters[i]);
    }
    avr_cycle_timer_register(simulation->avr, 1, restate, simulation);
}

/* Standard output is for the report alone. */
static void log_error(avr_t *avr, const int level, const char *format, va_list words)
{
    (void)avr;
    if (level <= LOG_ERROR) {
        vfprintf(stderr, format, words);
    }
}

static bool load(struct simulation *simulation)
{
    elf_firmware_t firmware;
    avr_global_logger_set(log_error);
    memset(&firmware, 0, sizeof firmware);
    simulation->avr = avr_make_mcu_by_name("atmega328p");
    if (simulation->avr == NULL || elf_read_firmware(simulation->options.firmware, &firmware)) {
        return false;
    }
    avr_t *avr = simulation->avr;
    avr_init(avr);
    firmware.frequency = CLOCK_HZ;
    avr_load_firmware(avr, &firmware);
    avr->sleep = on_sleep;
    avr->run_cycle_limit = SLICE;
    /* Before they are set up these interrupts react to a low level, and simavr would look at
     * them in every cycle from then on. */
    avr_extint_set_strict_lvl_trig(avr, 0, 0);
    avr_extint_set_strict_lvl_trig(avr, 1, 0);
    uint32_t flags = 0;
    avr_ioctl(avr, AVR_IOCTL_UART_GET_FLAGS('0'), &flags);
    flags &= ~(uint32_t)(AVR_UART_FLAG_STDIO | AVR_UART_FLAG_POLL_SLEEP);
    avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT),
                            on_byte, simulation);
    simulation->to_uart = avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT);
    simulation->io.kind = "table";
    simulation->io.reset = on_reset;
    avr_register_io(avr, &simulation->io);
    return true;
}

static void connect_converters(struct simulation *simulation)
{
    const struct options *options = &simulation->options;
    board_begin(&simulation->board, simulation->avr);
    if (options->is_slow) {
        board_drive(&simulation->board, 'D', SLOW_STRAP, false);
    }
    if (options->cells == 2) {
        board_drive(&simulation->board, 'B', TWO_CELLS_STRAP, false);
    }
    for (int cell = 0; cell < options->cells; cell++) {
        const struct hx711_setup setup = {
            .cell = cell,
            .data_pin = DATA_PINS[cell],
            .clock_pin = CLOCK_PINS[cell],
            .rate_pin = RATE_PIN,
            .wired_hz = options->wired_hz,
            .oscillator = options->oscillators[cell],
            .log = simulation->log,
        };
        hx711_begin(&simulation->converters[cell], &setup, &simulation->board,
                    &simulation->feed);
        simulation->converter_count++;
    }
}

static void reset(struct simulation *simulation)
{
    avr_reset(simulation->avr);
    avr_regbit_set(simulation->avr, simulation->avr->reset_flags.extrf);
}

/* Let the program run in circles, with its interrupts going on; only a watchdog ends that. */
static void hang(avr_t *avr)
{
    avr->flash[avr->flashend - 1] = 0xFF; /* rjmp .-2, in the last word of the flash */
    avr->flash[avr->flashend] = 0xCF;
    avr->pc = avr->flashend - 1;
    avr->state = cpu_Running;
}

/* As if the board had run for long already. */
static void set_memory(avr_t *avr, const struct event *event)
{
    for (unsigned i = 0; i < event->width && event->address + i <= avr->ramend; i++) {
        avr->data[event->address + i] = (uint8_t)(event->set >> (8 * i));
    }
}

static void hear(const struct simulation *simulation, uint8_t byte)
{
    avr_raise_irq(simulation->to_uart, byte);
    log_line(simulation, "heard", byte);
}

static void hear_all(const struct simulation *simulation, const char *digits)
{
    unsigned byte = 0;
    for (; sscanf(digits, "%2x", &byte) == 1; digits += 2) {
        hear(simulation, (uint8_t)byte);
    }
}

static void happen(struct simulation *simulation, const struct event *event)
{
    struct hx711 *converter = &simulation->converters[event->cell];
    switch (event->what) {
    case RESET:
        reset(simulation);
        break;
    case HANG:
        hang(simulation->avr);
        break;
    case STALL:
        hx711_stall(converter);
        break;
    case UNPLUG:
    case PLUG:
        hx711_plug(converter, event->what == UNPLUG);
        break;
    case SHORT:
    case MEND:
        hx711_short(converter, event->what == SHORT);
        break;
    case WIRE_10:
        hx711_wire(converter, 10.0);
        break;
    case WIRE_80:
        hx711_wire(converter, 80.0);
        break;
    case SET:
        set_memory(simulation->avr, event);
        break;
    case HEAR:
        hear_all(simulation, event->bytes);
        break;
    }
}

static double now_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

static void sleep_s(double seconds)
{
    if (seconds > 0.0) {
        const struct timespec wait = {.tv_sec = (time_t)seconds,
                                      .tv_nsec = (long)(fmod(seconds, 1.0) * 1e9)};
        nanosleep(&wait, NULL);
    }
}

static void listen(struct simulation *simulation)
{
    uint8_t bytes[32];
    bool is_opened = false;
    const size_t count = wire_get(&simulation->wire, bytes, sizeof bytes, &is_opened);
    if (is_opened) {
        reset(simulation);
    }
    for (size_t i = 0; i < count; i++) {
        hear(simulation, bytes[i]);
    }
}

static bool wait_for_reader(struct simulation *simulation)
{
    uint8_t bytes[32];
    bool is_opened = false;
    while (!is_opened && !is_stopping) {
        wire_wait(&simulation->wire, WAIT_MS);
        (void)wire_get(&simulation->wire, bytes, sizeof bytes, &is_opened);
    }
    return is_opened;
}

/* Returns false if the program of the microcontroller broke down. */
static bool run_slice(struct simulation *simulation, avr_cycle_count_t until)
{
    while (simulation->avr->cycle < until) {
        const int state = avr_run(simulation->avr);
        if (state == cpu_Done || state == cpu_Crashed) {
            fprintf(stderr, "simulator: the firmware stopped, state %d\n", state);
            return false;
        }
    }
    return true;
}

static bool run(struct simulation *simulation)
{
    const struct options *options = &simulation->options;
    const double began_s = now_s();
    double end_s = options->seconds > 0.0 ? options->seconds : INFINITY;
    for (avr_cycle_count_t until = SLICE; !is_stopping; until += SLICE) {
        if (!run_slice(simulation, until)) {
            return false;
        }
        const double at_s = board_seconds(simulation->avr);
        if (options->pace > 0.0) {
            sleep_s(began_s + at_s / options->pace - now_s());
        }
        listen(simulation);
        while (simulation->next_event < options->event_count &&
               options->events[simulation->next_event].at_s <= at_s) {
            happen(simulation, &options->events[simulation->next_event++]);
        }
        if (simulation->feed.has_ended && isinf(end_s)) {
            end_s = at_s + DRAIN_S;
        }
        if (at_s >= end_s) {
            break;
        }
    }
    return true;
}

static void report(const struct simulation *simulation)
{
    const avr_t *avr = simulation->avr;
    printf("{\"seconds\": %.6f, \"asleep\": %.4f, \"resets\": %ld, \"sent\": %ld, "
           "\"dropped\": %ld, \"converters\": [",
           board_seconds(avr), asleep_cycles / (double)avr->cycle, simulation->resets,
           simulation->wire.sent, simulation->wire.dropped);
    for (int i = 0; i < simulation->converter_count; i++) {
        fputs(i == 0 ? "" : ", ", stdout);
        hx711_report(&simulation->converters[i], stdout);
    }
    puts("]}");
    fflush(stdout);
}

static int fail(const char *what, const char *which)
{
    fprintf(stderr, "simulator: %s %s\n", what, which);
    return EXIT_FAILURE;
}

int main(int count, char *words[])
{
    static struct simulation simulation;
    struct options *options = &simulation.options;
    if (!options_read(options, count, words)) {
        return 2;
    }
    signal(SIGINT, on_signal);
    signal(SIGTERM, on_signal);
    if (!load(&simulation)) {
        return fail("cannot load", options->firmware);
    }
    if (!feed_open(&simulation.feed, options->feed, options->is_input, options->seconds > 0.0)) {
        return fail("cannot read", options->feed);
    }
    if (options->log != NULL && (simulation.log = fopen(options->log, "w")) == NULL) {
        return fail("cannot write", options->log);
    }
    if (simulation.log != NULL) {
        setvbuf(simulation.log, NULL, _IOLBF, 0);
    }
    if (!wire_open(&simulation.wire, options->link, options->waits || options->pace <= 0.0)) {
        return fail("cannot make the port", options->link);
    }
    connect_converters(&simulation);
    const bool is_well = !wait_for_reader(&simulation) || run(&simulation);
    report(&simulation);
    if (!is_stopping) {
        wire_drain(&simulation.wire);
    }
    wire_close(&simulation.wire);
    feed_close(&simulation.feed);
    if (simulation.log != NULL) {
        fclose(simulation.log);
    }
    return is_well ? EXIT_SUCCESS : EXIT_FAILURE;
}
