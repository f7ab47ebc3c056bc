#include "formats/json_out.h"
#include "server/call.h"

void answer_text(struct answer *answer, int code, const char *type, const char *text) {
    answer->code = code;
    answer->type = type;
    text_add(&answer->body, text);
}

void answer_json(struct answer *answer, int code, json_t *object) {
    char *text = json_dumps(object, JSON_COMPACT);
    answer_text(answer, code, "application/json", text ? text : "{}");
    free(text);
    json_decref(object);
}

void answer_fault(struct answer *answer, const struct fault *fault) {
    char key[64];
    word_key(fault->word, key, sizeof key);
    json_t *error = json_object();
    json_put_text(error, "id", key);
    json_put_text(error, "text", fault->text); /* which may quote an address that is no UTF-8 */
    answer_json(answer, status_http_code(fault->status), json_pack("{s:o}", "error", error));
}
