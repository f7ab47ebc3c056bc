/* russet shop backup: one file, looked through after it was written. */
#include "flow/lost_json.h"
#include "flow/shop_place.h"
#include "formats/json_out.h"
#include "shop/backup.h"

extern operation_flow shop_backup_flow;

enum status shop_backup_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                             struct fault *fault) {
    struct book *book;
    struct backed_up made;
    enum status status = shop_open(around, request, &book, fault);
    if (status == STATUS_OK) status = backup_write(book, around->out, around->work, &made, fault);
    book_close(book);
    if (status != STATUS_OK) return status;
    *reply = json_start("shop-backup");
    json_put_text(*reply, "file", around->out);
    json_put_count(*reply, "jobs", (long long)made.jobs);
    json_put_count(*reply, "photographs", (long long)made.photographs);
    json_put_count(*reply, "photograph_bytes", (long long)made.bytes);
    return lost_put(*reply, &made.lost, fault);
}
