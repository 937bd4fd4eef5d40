#include "line.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <util/crc16.h>

#define CRC_START 0xFFFF
#define LONGEST_NUMBER 11 /* -2147483648 */
#define ENDING 6          /* asterisk, four digits, line feed */

/* Nothing that this board writes comes near the end; a line that would is cut, and its checksum
 * is still that of what it says. */
static bool has_room(const struct line *line, size_t more)
{
    return line->length + more + ENDING < LINE_SIZE;
}

static void add(struct line *line, char character)
{
    line->text[line->length++] = character;
}

static void add_text(struct line *line, const char *text)
{
    const size_t length = strlen(text);
    if (has_room(line, length)) {
        memcpy(&line->text[line->length], text, length);
        line->length = (uint8_t)(line->length + length);
    }
}

void line_begin(struct line *line, const char *kind)
{
    line->length = 0;
    add_text(line, kind);
}

void line_word(struct line *line, const char *word)
{
    if (has_room(line, 1)) {
        add(line, ',');
    }
    add_text(line, word);
}

void line_number(struct line *line, uint32_t number)
{
    char digits[LONGEST_NUMBER + 1];
    line_word(line, ultoa(number, digits, 10));
}

void line_count(struct line *line, int32_t count)
{
    char digits[LONGEST_NUMBER + 1];
    line_word(line, ltoa(count, digits, 10));
}

static char hex_digit(uint16_t four_bits)
{
    return "0123456789ABCDEF"[four_bits & 0xFU];
}

void line_close(struct line *line)
{
    uint16_t crc = CRC_START;
    for (uint8_t i = 0; i < line->length; i++) {
        crc = _crc_xmodem_update(crc, (uint8_t)line->text[i]); /* polynomial 0x1021 */
    }
    add(line, '*');
    add(line, hex_digit(crc >> 12));
    add(line, hex_digit(crc >> 8));
    add(line, hex_digit(crc >> 4));
    add(line, hex_digit(crc));
    add(line, '\n');
}

void line_close_comment(struct line *line)
{
    add(line, '\n');
}
