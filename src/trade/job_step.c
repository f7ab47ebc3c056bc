#include "trade/job_step.h"
#include <stddef.h>
#include <string.h>

#define NAME(symbol, name) name,
static const char *const names[JOB_STEPS] = {JOB_STEP_TABLE(NAME, NAME)};
#undef NAME

const char *job_step_name(enum job_step step) {
    return names[step];
}

bool job_step_from_name(const char *name, enum job_step *out) {
    for (size_t i = 0; i < JOB_STEPS; i++) {
        if (strcmp(names[i], name) != 0) continue;
        *out = (enum job_step)i;
        return true;
    }
    return false;
}
