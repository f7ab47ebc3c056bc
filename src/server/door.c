#include "server/door.h"
#include "formats/json_out.h"
#include <stdio.h>
#include <string.h>

enum { LINES_A_MINUTE = 30, MINUTE_MS = 60000 };

void door_open(struct door *door) {
    *door = (struct door){0};
    pthread_mutex_init(&door->lock, NULL);
}

void door_close(struct door *door) {
    pthread_mutex_destroy(&door->lock);
}

/* In one write, so that lines of two connections do not mix. */
static void put_line(long long ms, const char *peer, const struct fault *what) {
    char line[sizeof what->text + 128], at[WALL_TIME_TEXT];
    snprintf(line, sizeof line, "%s %s: %s", wall_time_write(ms, at), peer, what->text);
    text_tame(line, strlen(line), "");
    fprintf(stderr, "%s\n", line);
}

void door_say(struct door *door, const struct wall_clock *clock, const struct call *call,
              const struct fault *what) {
    const long long ms = wall_clock_now_ms(clock), minute = ms / MINUTE_MS;
    pthread_mutex_lock(&door->lock);
    if (minute != door->minute) {
        struct fault left;
        FAULT(&left, SERVER_SAID_MORE, COUNT_TEXT(door->untold));
        if (door->untold) put_line(ms, "-", &left);
        door->minute = minute, door->told = door->untold = 0;
    }
    if (door->told < LINES_A_MINUTE)
        put_line(ms, call->peer ? call->peer : "-", what), door->told++;
    else
        door->untold++;
    pthread_mutex_unlock(&door->lock);
}

void door_refuse(struct door *door, const struct wall_clock *clock) {
    pthread_mutex_lock(&door->lock);
    door->refused++;
    door->refused_ms = wall_clock_now_ms(clock);
    pthread_mutex_unlock(&door->lock);
}

json_t *door_refusals(struct door *door) {
    json_t *object = json_object();
    char at[WALL_TIME_TEXT];
    pthread_mutex_lock(&door->lock);
    json_put_count(object, "count", door->refused);
    json_put_text(object, "last", door->refused ? wall_time_write(door->refused_ms, at) : NULL);
    pthread_mutex_unlock(&door->lock);
    return object;
}
