/* The lights named on a command line: built in, or the lamp that was measured (--lamp FILE), which is called
 * "lamp". */
#ifndef RUSSET_FLOW_LIGHTS_H
#define RUSSET_FLOW_LIGHTS_H

#include "colour/lab.h"
#include "flow/operation.h"

enum { LIGHTS_MOST = 8 };

struct named_light {
    const char *name; /* "D65" ... as light_name, or "lamp" */
    const struct weights *weights;
};

struct lights {
    size_t count;
    struct named_light light[LIGHTS_MOST];
};

/* The value of --observer ("10" or "2"). */
enum observer lights_observer(const struct request *request);
/* The lights called name[0..count). A lamp that is given (--lamp) and not called stands last. option: for
 * messages. USAGE: a light that is not known, or called twice; INPUT: a lamp's file that is no lamp. The
 * request must have the argument --lamp. */
enum status lights_read(const struct surroundings *around, const struct request *request,
                        enum observer observer, const char *const name[], size_t count, const char *option,
                        struct lights *out, struct fault *fault) MUST_USE;

#endif
