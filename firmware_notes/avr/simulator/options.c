#include "options.h"

#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char USAGE[] =
    "usage: simulator --firmware ELF --link PATH (--words FILE | --input FILE) [options]\n"
    "  --firmware ELF     what to run: build/strikebridge.elf\n"
    "  --link PATH        symbolic link to the serial port that is made; opening it starts the\n"
    "                     board\n"
    "  --words FILE       one row a conversion: the word of each cell; - is standard input\n"
    "  --input FILE       rows of seconds and what each cell brings, in counts; straight lines\n"
    "                     between them, seen through the converter's filter\n"
    "  --cells N          1 or 2 (1)\n"
    "  --slow             sets the strap for 10 samples a second\n"
    "  --wired-hz F       rate of the converters by their own wiring, whatever the board asks\n"
    "  --oscillators F,F  how many times faster than printed each converter is (1,1)\n"
    "  --pace F           simulated seconds in a real one; 0 as fast as it goes (1)\n"
    "  --waits            for a reader that is slow, instead of losing what does not fit, as real\n"
    "                     boards do; always so with --pace 0\n"
    "  --seconds F        end then, the last row going on; else 0.3 s after the feed's end\n"
    "  --log FILE         every word: cell, microseconds since power-on, word; and when each\n"
    "                     line was sent or heard by the board\n"
    "  --event S:WHAT     at S seconds: reset, hang (the program runs in circles), or of a cell\n"
    "                     stall-1 (silent until powered down), unplug-1, plug-1, short-1 (DT to\n"
    "                     ground), mend-1, wire-10-1, wire-80-1; or set-ADDRESS-VALUE of the\n"
    "                     board's memory, or hear-BYTES at its port, all of these hexadecimal,\n"
    "                     two digits a byte; may be given more than once, in order\n";

static const struct {
    const char *word;
    enum happening what;
} HAPPENINGS[] = {
    {"reset", RESET},   {"hang", HANG},       {"stall", STALL},
    {"unplug", UNPLUG}, {"plug", PLUG},       {"short", SHORT},
    {"mend", MEND},     {"wire-10", WIRE_10}, {"wire-80", WIRE_80},
};

static bool add_event(struct options *options, const char *words)
{
    char *rest = NULL;
    const double at_s = strtod(words, &rest);
    if (*rest != ':' || options->event_count == MOST_EVENTS) {
        return false;
    }
    rest++;
    struct event *event = &options->events[options->event_count];
    event->at_s = at_s;
    if (strncmp(rest, "hear-", 5) == 0) {
        event->what = HEAR;
        event->bytes = rest + 5;
        options->event_count++;
        return true;
    }
    int value_at = 0;
    if (sscanf(rest, "set-%x-%n%lx", &event->address, &value_at, &event->set) == 2) {
        event->what = SET;
        event->width = (unsigned)strlen(rest + value_at) / 2;
        options->event_count++;
        return true;
    }
    for (size_t i = 0; i < sizeof HAPPENINGS / sizeof *HAPPENINGS; i++) {
        const size_t length = strlen(HAPPENINGS[i].word);
        const char *end = rest + length;
        if (strncmp(rest, HAPPENINGS[i].word, length) == 0 &&
            (*end == '\0' || strcmp(end, "-1") == 0 || strcmp(end, "-2") == 0)) {
            event->what = HAPPENINGS[i].what;
            event->cell = strcmp(end, "-2") == 0;
            options->event_count++;
            return true;
        }
    }
    return false;
}

static bool take(struct options *options, int key, const char *value)
{
    switch (key) {
    case 'f':
        options->firmware = value;
        return true;
    case 'l':
        options->link = value;
        return true;
    case 'w':
    case 'i':
        options->feed = value;
        options->is_input = key == 'i';
        return true;
    case 'c':
        options->cells = atoi(value);
        return options->cells == 1 || options->cells == 2;
    case 's':
        options->is_slow = true;
        return true;
    case 'b':
        options->waits = true;
        return true;
    case 'r':
        options->wired_hz = atof(value);
        return options->wired_hz > 0.0;
    case 'o':
        return sscanf(value, "%lf,%lf", &options->oscillators[0], &options->oscillators[1]) > 0;
    case 'p':
        options->pace = atof(value);
        return options->pace >= 0.0;
    case 't':
        options->seconds = atof(value);
        return options->seconds > 0.0;
    case 'g':
        options->log = value;
        return true;
    case 'e':
        return add_event(options, value);
    case 'h':
        fputs(USAGE, stdout);
        exit(EXIT_SUCCESS);
    default:
        return false;
    }
}

bool options_read(struct options *options, int count, char *words[])
{
    static const struct option NAMES[] = {
        {"firmware", required_argument, NULL, 'f'}, {"link", required_argument, NULL, 'l'},
        {"words", required_argument, NULL, 'w'},    {"input", required_argument, NULL, 'i'},
        {"cells", required_argument, NULL, 'c'},    {"slow", no_argument, NULL, 's'},
        {"wired-hz", required_argument, NULL, 'r'}, {"oscillators", required_argument, NULL, 'o'},
        {"pace", required_argument, NULL, 'p'},     {"seconds", required_argument, NULL, 't'},
        {"log", required_argument, NULL, 'g'},      {"event", required_argument, NULL, 'e'},
        {"waits", no_argument, NULL, 'b'},          {"help", no_argument, NULL, 'h'},
        {NULL, 0, NULL, 0},
    };
    memset(options, 0, sizeof *options);
    options->cells = 1;
    options->pace = 1.0;
    options->oscillators[0] = options->oscillators[1] = 1.0;
    bool is_right = true;
    for (int key; (key = getopt_long(count, words, "", NAMES, NULL)) != -1;) {
        is_right = take(options, key, optarg) && is_right;
    }
    is_right = is_right && optind == count && options->firmware != NULL &&
               options->link != NULL && options->feed != NULL;
    if (!is_right) {
        fputs(USAGE, stderr);
    }
    return is_right;
}
