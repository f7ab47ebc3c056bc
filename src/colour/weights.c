/* The weights of every built-in light and observer, folded once (see one_nm.c), and those of a measured lamp.
 */
#include "colour/one_nm.h"
#include <assert.h>
#include <math.h>
#include <pthread.h>

enum { OBSERVERS = 2 };

/* Constants that are worked out rather than written down: nobody can tell when they were made. */
static struct weights built_in[LIGHT_MEASURED][OBSERVERS];
static pthread_once_t built = PTHREAD_ONCE_INIT;

_Static_assert(LIGHT_MEASURED == LIGHT_COUNT - 1, "the measured lamp stands last among the lights");

static void build(void) {
    for (int light = 0; light < LIGHT_MEASURED; light++) {
        struct one_nm power;
        one_nm_light((enum light)light, &power);
        for (int observer = 0; observer < OBSERVERS; observer++)
            one_nm_fold(&power, (struct view){(enum light)light, (enum observer)observer},
                        &built_in[light][observer]);
    }
}

const struct weights *weights_of(struct view view) {
    assert(view.light < LIGHT_MEASURED && view.observer <= OBSERVER_2);
    pthread_once(&built, build);
    return &built_in[view.light][view.observer];
}

static const double same_nm = 1e-4; /* as spectrum.c */

static enum status check_lamp(const struct sampled *lamp, struct fault *fault) {
    const double first = lamp->first_nm, step = lamp->step_nm;
    const double last = first + step * ((double)lamp->count - 1);
    if (lamp->count < 2 || !(step > 0 && step <= 20 + same_nm))
        return FAULT(fault, LAMP_STEP, NUMBER_TEXT(step));
    if (!(first <= BAND_FIRST_NM + same_nm && last >= BAND_LAST_NM - same_nm))
        return FAULT(fault, LAMP_NARROW, NUMBER_TEXT(first), NUMBER_TEXT(last));
    double peak = 0;
    for (size_t i = 0; i < lamp->count; i++) peak = fmax(peak, lamp->value[i]);
    for (size_t i = 0; i < lamp->count; i++) {
        const double nm = first + step * (double)i, value = lamp->value[i];
        if (!(fabs(value) <= 1e100)) return FAULT(fault, LAMP_NOT_NUMBER, NUMBER_TEXT(nm));
        /* An instrument's noise may dip a little under zero. */
        if (value < -.01 * peak) return FAULT(fault, LAMP_NEGATIVE, NUMBER_TEXT(value), NUMBER_TEXT(nm));
    }
    return STATUS_OK;
}

enum status weights_of_lamp(const struct sampled *lamp, enum observer observer, struct weights *out,
                            struct fault *fault) {
    const enum status status = check_lamp(lamp, fault);
    if (status != STATUS_OK) return status;
    struct one_nm power;
    one_nm_lamp(lamp, &power);
    double peak = 0;
    for (int i = 0; i < ONE_NM_COUNT; i++) peak = fmax(peak, power.value[i]);
    if (!(peak > 0)) return FAULT0(fault, LAMP_DARK);
    for (int i = 0; i < ONE_NM_COUNT; i++) power.value[i] /= peak;
    struct weights made;
    one_nm_fold(&power, (struct view){LIGHT_MEASURED, observer}, &made);
    if (!(made.white.x > 0 && made.white.z > 0 && made.white.y > 99 && made.white.y < 101))
        return FAULT0(fault, LAMP_DARK);
    *out = made;
    return STATUS_OK;
}
