/* russet shop restore: into an empty place, or, when that is said, over a living shop that is backed up
 * first. */
#include "flow/shop_place.h"
#include "formats/json_out.h"
#include "shop/backup.h"
#include <string.h>

extern operation_flow shop_restore_flow;

/* The keys of --forget. */
struct forgotten {
    const char **id;
    size_t count;
};

static enum status read_forgotten(const struct surroundings *around, const struct request *request,
                                  struct forgotten *out, struct fault *fault) {
    out->count = request_count(request, "--forget");
    out->id = arena_need(around->arena, out->count + 1, sizeof *out->id);
    for (size_t i = 0; i < out->count; i++) {
        out->id[i] = request_text_at(request, "--forget", i);
        if (!id_is_good(out->id[i])) return FAULT(fault, SHOP_NO_KEY, "--forget", out->id[i]);
    }
    return STATUS_OK;
}

static enum status replace(const struct surroundings *around, const struct request *request,
                           struct book_how how, const struct forgotten *forgotten, struct restored *made,
                           struct fault *fault) {
    struct book *live;
    struct backed_up kept;
    if (disk_same(request_text(request, "FILE"), request_text(request, "--replace")))
        return FAULT(fault, RESTORE_SAME_FILE, request_text(request, "FILE"));
    enum status status = shop_open(around, request, &live, fault);
    if (status == STATUS_OK)
        status = backup_write(live, request_text(request, "--replace"), around->work, &kept, fault);
    if (status == STATUS_OK)
        status = restore_over(live, request_text(request, "FILE"), how, forgotten->id, forgotten->count,
                              around->work, made, fault);
    book_close(live);
    return status;
}

static void put_reply(json_t *reply, const struct request *request, const char *dir,
                      const struct restored *made) {
    struct fault note;
    json_put_text(reply, "shop", dir);
    json_put_text(reply, "from", request_text(request, "FILE"));
    json_put_text(reply, "replaced_shop_in", request_text(request, "--replace"));
    json_put_count(reply, "jobs", (long long)made->jobs);
    json_put_count(reply, "photographs", (long long)made->photographs);
    json_put_count(reply, "lost", (long long)made->lost);
    json_put_flag(reply, "forgot_again", made->erased.rows > 0);
    (void)FAULT0(&note, RESTORE_NUMBERS);
    json_add_note(reply, &note);
    if (!request_has(request, "--replace")) {
        (void)FAULT0(&note, RESTORE_FORGET);
        json_add_note(reply, &note);
    }
}

enum status shop_restore_flow(const struct surroundings *around, const struct request *request,
                              json_t **reply, struct fault *fault) {
    struct book_how how;
    struct forgotten forgotten;
    struct restored made;
    const char *dir;
    if (strcmp(request_text(request, "FILE"), "-") == 0) return FAULT(fault, SHOP_NO_STREAM, "shop restore");
    enum status status = shop_how(around, request, &how, fault);
    if (status == STATUS_OK) status = shop_place(around, request, &dir, fault);
    if (status == STATUS_OK) status = read_forgotten(around, request, &forgotten, fault);
    if (status != STATUS_OK) return status;
    if (request_has(request, "--replace"))
        status = replace(around, request, how, &forgotten, &made, fault);
    else
        status = restore_read(request_text(request, "FILE"), dir, how, forgotten.id, forgotten.count,
                              around->work, &made, fault);
    if (status != STATUS_OK) return status;
    *reply = json_start("shop-restore");
    put_reply(*reply, request, dir, &made);
    return made.lost ? FAULT(fault, RESTORED_WITHOUT, COUNT_TEXT((long long)made.lost)) : STATUS_OK;
}
