#include "flow/serve_flow.h"
#include "flow/operation.h"
#include "flow/shop_place.h"
#include "formats/json_out.h"

extern operation_flow serve_flow;
extern operation_say serve_say;

enum status serve_flow(const struct surroundings *around, const struct request *request, json_t **reply,
                       struct fault *fault) {
    struct serve_settings settings = {.listen = request_text(request, "--listen"),
                                      .port = (unsigned)request_number(request, "--port", 0),
                                      .scale = request_text(request, "--scale"),
                                      .pattern = request_text(request, "--pattern"),
                                      .baud = (int)request_number(request, "--baud", 9600)};
    struct book *book; /* opened to see that it is one of ours, and to bring it up to date */
    enum status status = shop_place(around, request, &settings.shop, fault);
    if (status == STATUS_OK) status = shop_open(around, request, &book, fault);
    if (status != STATUS_OK) return status;
    book_close(book);
    status = around->serve(around, &settings, fault);
    if (status == STATUS_OK) *reply = json_start("served");
    return status;
}

void serve_say(const json_t *reply, struct text *out) {
    (void)reply, (void)out;
}
