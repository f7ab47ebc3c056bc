/* A pour with the scale on the line: bytes of the port -> lines -> readings -> the pour -> the log -> the
 * face.
 *
 * An amount is shown as poured only after its record is on the disk. Whatever the port does, the pour stays
 * where it was: a port that is gone is opened again every half second. Whoever is there to answer does so
 * with a key and Enter. */
#ifndef RUSSET_FLOW_WEIGH_SESSION_H
#define RUSSET_FLOW_WEIGH_SESSION_H

#include "base/work.h"
#include "device/append.h"
#include "device/clock.h"
#include "device/scale_line.h"
#include "device/scale_port.h"
#include "flow/weigh_face.h"
#include "formats/pour_log.h"

/* What may be done after an over-pour: the steps from here on (those that are there first), told in *offer
 * with the let-downs to be stirred for it. False: nothing can or need be done; *offer says that. */
struct weigh_offer {
    struct fault said[RECIPE_TONERS_MOST + 1];
    size_t said_count;
};
typedef bool weigh_rescue(void *context, const struct pouring *pouring, struct pouring_item items[],
                          size_t *count, struct weigh_offer *offer);

/* The scale turned out to step by step_g, coarser than what was planned for. OK: items, *count and the rest
 * of *fit hold a new plan (nothing may be in yet). NO: something is in; the windows alone were widened. Any
 * other status: it cannot be poured on this scale, and *fault says what to do. */
enum { WEIGH_FIT_SENTENCES = RECIPE_TONERS_MOST + 3 };
struct weigh_fit {
    struct pouring_item items[POURING_MOST];
    size_t count;
    double batch_g, step_g;
    struct fault said[WEIGH_FIT_SENTENCES];
    size_t said_count;
};
typedef enum status weigh_refit(void *context, double step_g, struct weigh_fit *fit, struct fault *fault);

/* "lot W-1": out of what a toner is taken; NULL when nobody knows. */
typedef const char *weigh_lots(void *context, const char *toner);

struct weigh_log {
    bool kept;    /* false: no log was asked for */
    bool resumed; /* something was in it already */
    struct append file;
    struct pour_log record;
};

struct weigh {
    struct scale_port port;
    const char *port_name;
    const struct scale_pattern *pattern; /* NULL: the usual lines */
    struct clock clock;
    double line_ms; /* > 0: a stream without time, so many milliseconds a line; 0: by the clock */
    int answers;    /* where answers are read from; -1: nobody is there */
    struct weigh_face face;
    struct weigh_log *log;
    weigh_rescue *rescue; /* NULL: none */
    void *rescue_context;
    weigh_refit *refit; /* NULL: the plan is poured whatever the scale */
    void *refit_context;
    weigh_lots *lots; /* NULL: no shop is known */
    void *lots_context;
    double planned_step_g; /* of the scale that the plan was made for */
    const struct work *work;
};

/* The scale's step that the log at this path was planned for; 0 when there is none or it does not say. */
double weigh_log_step(const struct disk *disk, const char *path);

/* Opens or begins the log of this pour, planned for a scale of step_g (0: not said). One that is there must
 * be of the same recipe; what it says was poured, and its newest steps, are put into items (room for
 * POURING_MOST). path NULL: no log is kept. */
enum status weigh_log_open(struct weigh_log *log, const struct disk *disk, const char *path, double batch_g,
                           double step_g, struct pouring_item items[], size_t *count,
                           struct fault *fault) MUST_USE;
void weigh_log_close(struct weigh_log *log);

/* Until all is in (OK), the stream ended or somebody left (NO, with what is missing), or CANCELLED. MACHINE
 * when the log could not be written: what was shown as poured is in it. */
enum status weigh_run(struct weigh *weigh, struct pouring *pouring, struct fault *fault) MUST_USE;

#endif
