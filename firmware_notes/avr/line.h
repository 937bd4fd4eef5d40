/* Lines of the protocol strikebridge-lines: payload, asterisk, CRC-16, line feed. */

#ifndef LINE_H
#define LINE_H

#include <stdint.h>

#define LINE_SIZE 96

struct line {
    char text[LINE_SIZE];
    uint8_t length;
};

/* Begin with the kind of line, such as "S" or "I"; a comment is one word that begins with #. */
void line_begin(struct line *line, const char *kind);

/* Add a comma and a word, an unsigned number, a signed number. */
void line_word(struct line *line, const char *word);
void line_number(struct line *line, uint32_t number);
void line_count(struct line *line, int32_t count);

/* Close with checksum and line feed, or a comment with the line feed alone. */
void line_close(struct line *line);
void line_close_comment(struct line *line);

#endif
