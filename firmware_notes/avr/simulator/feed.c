#include "feed.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LOOKS 16 /* at the input, in one conversion */
#define CONVERSIONS 4
#define KERNEL (CONVERSIONS * (LOOKS - 1) + 1)
#define HIGHEST 8388607
#define LOWEST (-8388608)

bool feed_open(struct feed *feed, const char *path, bool is_input, bool stays)
{
    memset(feed, 0, sizeof *feed);
    feed->is_input = is_input;
    feed->stays = stays;
    feed->file = strcmp(path, "-") == 0 ? stdin : fopen(path, "r");
    return feed->file != NULL;
}

void feed_close(struct feed *feed)
{
    if (feed->file != NULL && feed->file != stdin) {
        fclose(feed->file);
    }
    free(feed->rows);
}

static void keep(struct feed *feed, const struct row *row)
{
    if (feed->count == feed->room) {
        feed->room = feed->room == 0 ? 1024 : 2 * feed->room;
        feed->rows = realloc(feed->rows, feed->room * sizeof *feed->rows);
        if (feed->rows == NULL) {
            abort();
        }
    }
    feed->rows[feed->count++] = *row;
}

/* Read one more row; false at the end. */
static bool read_row(struct feed *feed)
{
    char text[256];
    while (fgets(text, sizeof text, feed->file) != NULL) {
        struct row row = {{0.0, 0.0, 0.0}};
        int found = 0;
        char *rest = NULL;
        for (char *word = strtok_r(text, ", \t\r\n", &rest);
             word != NULL && found < 1 + MOST_CELLS; word = strtok_r(NULL, ", \t\r\n", &rest)) {
            row.values[found++] = strtod(word, NULL);
        }
        if (found > 0) {
            keep(feed, &row);
            return true;
        }
    }
    return false;
}

static bool has_row(struct feed *feed, size_t index)
{
    while (feed->count <= index) {
        if (!read_row(feed)) {
            return false;
        }
    }
    return true;
}

static bool next_word(struct feed *feed, int cell, double *value)
{
    if (has_row(feed, feed->next[cell])) {
        *value = feed->rows[feed->next[cell]++].values[cell];
        return true;
    }
    if (!feed->stays || feed->count == 0) {
        return false;
    }
    *value = feed->rows[feed->count - 1].values[cell];
    return true;
}

/* The input at a moment that is not before the last one asked for by more than a few periods. */
static double input_at(struct feed *feed, int cell, double at_s)
{
    size_t i = feed->place[cell];
    while (i > 0 && feed->rows[i].values[0] > at_s) {
        i--;
    }
    while (has_row(feed, i + 1) && feed->rows[i + 1].values[0] <= at_s) {
        i++;
    }
    feed->place[cell] = i;
    const struct row *here = &feed->rows[i];
    if (i + 1 >= feed->count || at_s <= here->values[0]) {
        return here->values[1 + cell];
    }
    const struct row *there = &feed->rows[i + 1];
    const double share = (at_s - here->values[0]) / (there->values[0] - here->values[0]);
    return here->values[1 + cell] + share * (there->values[1 + cell] - here->values[1 + cell]);
}

/* Four running means of one conversion each: what the input did is over after four conversions,
 * as the data sheet says of the settling. That its filter is of this form is an assumption. */
static const double *kernel(void)
{
    static double weights[KERNEL];
    if (weights[0] == 0.0) {
        weights[0] = 1.0;
        for (int pass = 0; pass < CONVERSIONS; pass++) {
            double before[KERNEL];
            memcpy(before, weights, sizeof before);
            for (int i = 0; i < KERNEL; i++) {
                double sum = 0.0;
                for (int j = i - LOOKS + 1; j <= i; j++) {
                    sum += j >= 0 ? before[j] : 0.0;
                }
                weights[i] = sum / LOOKS;
            }
        }
    }
    return weights;
}

static bool filtered(struct feed *feed, int cell, double end_s, double period_s, double *value)
{
    if (!has_row(feed, 0)) {
        return false;
    }
    double sum = 0.0;
    for (int i = KERNEL - 1; i >= 0; i--) {
        sum += kernel()[i] * input_at(feed, cell, end_s - i * period_s / LOOKS);
    }
    *value = sum;
    return feed->stays || end_s <= feed->rows[feed->count - 1].values[0];
}

bool feed_word(struct feed *feed, int cell, double end_s, double period_s, int32_t *word)
{
    double value = 0.0;
    const bool is_there = feed->is_input ? filtered(feed, cell, end_s, period_s, &value)
                                         : next_word(feed, cell, &value);
    feed->has_ended = feed->has_ended || !is_there;
    *word = (int32_t)lround(fmin(fmax(value, LOWEST), HIGHEST));
    return is_there;
}
