#include "wire.h"

#include <fcntl.h>
#include <poll.h>
#include <pty.h>
#include <stdio.h>
#include <string.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <unistd.h>

#define LONGEST_WAIT_MS 5000
#define LOOK_MS 10

bool wire_open(struct wire *wire, const char *link, bool waits)
{
    char name[128];
    struct termios settings;
    const int on = 1;
    memset(wire, 0, sizeof *wire);
    wire->waits = waits;
    wire->link = link;
    if (openpty(&wire->ours, &wire->theirs, name, NULL, NULL) != 0) {
        return false;
    }
    tcgetattr(wire->theirs, &settings);
    cfmakeraw(&settings);
    tcsetattr(wire->theirs, TCSANOW, &settings);
    fcntl(wire->ours, F_SETFL, O_NONBLOCK);
    /* Packet mode: each read begins with a byte that also tells when the far end is flushed. */
    if (ioctl(wire->ours, TIOCPKT, &on) != 0) {
        return false;
    }
    unlink(link);
    return symlink(name, link) == 0;
}

void wire_put(struct wire *wire, uint8_t byte)
{
    struct pollfd room = {.fd = wire->ours, .events = POLLOUT};
    if (write(wire->ours, &byte, 1) == 1 ||
        (wire->waits && poll(&room, 1, LONGEST_WAIT_MS) == 1 &&
         write(wire->ours, &byte, 1) == 1)) {
        wire->sent++;
    } else {
        wire->dropped++;
    }
}

size_t wire_get(struct wire *wire, uint8_t *bytes, size_t size, bool *is_opened)
{
    uint8_t packet[256];
    const size_t most = size + 1 < sizeof packet ? size + 1 : sizeof packet;
    const ssize_t length = read(wire->ours, packet, most);
    if (length < 1) {
        return 0;
    }
    if (packet[0] != TIOCPKT_DATA) {
        *is_opened = (packet[0] & TIOCPKT_FLUSHREAD) != 0;
        return 0;
    }
    memcpy(bytes, packet + 1, (size_t)length - 1);
    return (size_t)length - 1;
}

void wire_wait(const struct wire *wire, int milliseconds)
{
    struct pollfd arrival = {.fd = wire->ours, .events = POLLIN | POLLPRI};
    poll(&arrival, 1, milliseconds);
}

void wire_drain(const struct wire *wire)
{
    int quiet = 0; /* looks in a row; the system passes bytes on a little later */
    for (int look = 0; look < LONGEST_WAIT_MS / LOOK_MS && quiet < 3; look++) {
        int waiting = 0;
        ioctl(wire->theirs, FIONREAD, &waiting);
        quiet = waiting == 0 ? quiet + 1 : 0;
        usleep(LOOK_MS * 1000);
    }
}

void wire_close(struct wire *wire)
{
    unlink(wire->link);
    close(wire->ours);
    close(wire->theirs);
}
