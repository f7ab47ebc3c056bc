/* What a sheen means where it is: glare from a dash top, grip of a wheel and pedals, the usual of a seat. */
#include "flow/sheen_parts.h"
#include <math.h>
#include <string.h>

static void note_dash(json_t *reply, double from_gu, double gu60) {
    if (gu60 > from_gu + 0.5) /* interior tolerance .3 to .5 GU */
        SHEEN_NOTE(reply, SHEEN_DASH_GLARES, NUMBER_TEXT(round(10 * gu60) / 10), NUMBER_TEXT(from_gu));
    else
        SHEEN_NOTE(reply, SHEEN_DASH, NULL);
}

void sheen_put_place(json_t *reply, const struct request *request, double gu60) {
    const char *place = request_text(request, "--place");
    if (!place) return;
    if (strcmp(place, "dash") == 0) note_dash(reply, request_number(request, "--from-gu", (double)NAN), gu60);
    if (strcmp(place, "wheel") == 0) SHEEN_NOTE(reply, SHEEN_WHEEL_GRIPS, NULL);
    if (strcmp(place, "pedal") == 0) SHEEN_NOTE(reply, SHEEN_PEDAL_GRIPS, NULL);
    if (strcmp(place, "seat") == 0 && (gu60 > 5.5 || gu60 < 0.5))
        SHEEN_NOTE(reply, SHEEN_SEAT_UNUSUAL, NUMBER_TEXT(round(10 * gu60) / 10));
}
