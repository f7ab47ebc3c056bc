/* A shelf and grounds that hold, for the requests of fuzzers. */
#ifndef RUSSET_TESTS_SHELF_FUZZ_H
#define RUSSET_TESTS_SHELF_FUZZ_H

#include "formats/json_out.h"
#include "formats/shelf_json.h"
#include "fuzz_run.h"
#include "match_shelf.h"

/* Black, white and a tan crust. */
static inline void write_grounds(struct text *out) {
    static const char *const id[] = {"black", "white", "crust"};
    text_add(out, "SAMPLE_ID");
    for (int nm = 400; nm <= 700; nm += 20) text_format(out, ",%d", nm);
    for (int k = 0; k < 3; k++) {
        text_format(out, "\n%s", id[k]);
        for (int i = 0; i <= 15; i++) text_format(out, ",%.3f", k == 2 ? .2 + .02 * i : k ? .8 : .05);
    }
    text_add(out, "\n");
}

/* White, black, yellow, red and binder of the published pigments, by short names. */
static inline void write_shelf(struct text *out) {
    static const char *const id[][2] = {{"titanium-white", "white"},
                                        {"bone-black", "black"},
                                        {"hansa-yellow-opaque", "yellow"},
                                        {"pyrrole-red", "red"},
                                        {"binder", "binder"}};
    struct shelf all = match_shelf(19, true), shelf = all;
    struct toner toner[5];
    struct fault fault;
    shelf.toner = toner, shelf.count = 5;
    for (int i = 0; i < 5; i++) {
        toner[i] = all.toner[shelf_find(&all, id[i][0])];
        snprintf(toner[i].id, sizeof toner[i].id, "%s", id[i][1]);
    }
    json_t *object = json_start("toners");
    shelf_put(object, &shelf);
    MUST(json_finish(object, out, &fault) == STATUS_OK);
    json_decref(object);
    memory_free(all.toner);
}

#endif
