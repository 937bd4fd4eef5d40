/* What the converters are to convert, read from a file or a pipe.
 *
 * Two kinds of text, numbers parted by blanks or commas:
 *   words   one row a conversion: the word of each cell
 *   input   one row a moment: seconds since power-on, then what each cell brings, in counts;
 *           straight lines between the moments, seen through the converter's filter */

#ifndef FEED_H
#define FEED_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include "board.h"

struct row {
    double values[1 + MOST_CELLS];
};

struct feed {
    FILE *file;
    bool is_input;
    bool stays; /* at the end the last row goes on, instead of the converters falling silent */
    bool has_ended;
    struct row *rows;
    size_t count;
    size_t room;
    size_t next[MOST_CELLS];  /* words: the row of the next conversion */
    size_t place[MOST_CELLS]; /* input: the row before the last moment looked at */
};

/* path: a file, or "-" for standard input. Returns false if it cannot be read. */
bool feed_open(struct feed *feed, const char *path, bool is_input, bool stays);

/* Convert once.
 * end_s: when the conversion ends. period_s: how long one takes.
 * Returns false at the end of the feed. */
bool feed_word(struct feed *feed, int cell, double end_s, double period_s, int32_t *word);

void feed_close(struct feed *feed);

#endif
