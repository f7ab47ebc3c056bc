/* Requests know the order of the line, and a sentence may quote the one before it. */
#include "check.h"
#include "flow/operation.h"
#include <stdint.h>

static const struct argument *argument_of(const struct operation *o, const char *name) {
    size_t count;
    const struct argument *a = operation_arguments(o, &count);
    for (size_t i = 0; i < count; i++)
        if (strcmp(a[i].name, name) == 0) return &a[i];
    return NULL;
}

static void order_and_lists_by_number(void) {
    struct arena *arena = arena_new();
    const struct operation *o = operation_find("compare");
    struct request *r = request_new(o, arena);
    struct fault fault = {0};
    CHECK(request_add(r, argument_of(o, "--lab"), "50,1,2", &fault) == STATUS_OK);
    CHECK(request_add(r, argument_of(o, "A"), "file", &fault) == STATUS_OK);
    CHECK(request_add(r, argument_of(o, "--lab"), "60,3,-4", &fault) == STATUS_OK);
    CHECK(request_order(r, "--lab", 0) == 0 && request_order(r, "A", 0) == 1 &&
          request_order(r, "--lab", 1) == 2);
    CHECK(request_order(r, "--lab", 2) == SIZE_MAX && request_order(r, "B", 0) == SIZE_MAX);
    size_t n;
    const double *second = request_numbers_at(r, "--lab", 1, &n);
    CHECK(n == 3 && second && second[2] == -4);
    CHECK(request_numbers_at(r, "--lab", 2, &n) == NULL && n == 0);
    arena_free(arena);
}

static void a_list_that_is_none_says_which_item(void) {
    struct arena *arena = arena_new();
    const struct operation *o = operation_find("compare");
    struct request *r = request_new(o, arena);
    struct fault fault = {0};
    CHECK(request_add(r, argument_of(o, "--lab"), "50,x,2", &fault) == STATUS_USAGE);
    CHECK(strstr(fault.text, "in \"50,x,2\": --lab needs a number") != NULL);
    arena_free(arena);
}

int main(void) {
    RUN(order_and_lists_by_number);
    RUN(a_list_that_is_none_says_which_item);
    return check_done();
}
