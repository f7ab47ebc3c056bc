#include "server/demo_route.h"
#include "formats/json_in.h"
#include "server/server.h"
#include <errno.h>
#include <ftw.h>
#include <pthread.h>
#include <stdio.h>
#include <string.h>

static pthread_mutex_t making = PTHREAD_MUTEX_INITIALIZER;

static const char *joined(const char *folder, const char *rest, struct arena *arena) {
    struct text path = {0};
    text_format(&path, "%s%s", folder, rest);
    const char *copy = arena_text(arena, path.data, path.length);
    text_free(&path);
    return copy;
}

const char *demo_folder(const char *shop, struct arena *arena) {
    return joined(shop, "/demo", arena);
}

static int remove_one(const char *path, const struct stat *info, int flag, struct FTW *at) {
    (void)info, (void)flag, (void)at;
    return remove(path);
}

static enum status run_init(const struct call *call, const char *folder, struct fault *fault) {
    const struct operation *init = operation_find("shop init");
    struct request *request = request_new(init, call->arena);
    struct call inside = *call;
    struct surroundings around;
    size_t count;
    const struct argument *a = operation_arguments(init, &count);
    enum status status = STATUS_OK;
    for (size_t i = 0; i < count && status == STATUS_OK; i++)
        if (strcmp(a[i].name, "--demo") == 0) status = request_add(request, &a[i], NULL, fault);
    if (status != STATUS_OK) return status;
    struct work *work = work_new(1, NULL, NULL);
    json_t *reply = NULL;
    inside.shop = folder;
    server_surroundings(&inside, disk_real(), work, call->arena, &around);
    status = init->flow(&around, request, &reply, fault);
    json_decref(reply);
    work_free(work);
    return status;
}

/* What an interruption left is thrown away; the name appears when all is there. */
static enum status make(const struct call *call, const char *demo, struct fault *fault) {
    const char *half = joined(demo, "-half", call->arena);
    if (disk_is_folder(demo)) return STATUS_OK;
    nftw(half, remove_one, 20, FTW_DEPTH | FTW_PHYS);
    const enum status status = run_init(call, half, fault);
    if (status == STATUS_OK && rename(half, demo) != 0)
        return FAULT(fault, FILE_CANNOT_WRITE, demo, strerror(errno));
    return status;
}

void demo_route_answer(const struct call *call, struct answer *answer) {
    struct fault fault;
    json_t *body = NULL;
    enum status status = json_read(&call->body, &body, &fault);
    const bool on = json_is_true(json_object_get(body, "on"));
    json_decref(body);
    pthread_mutex_lock(&making);
    if (status == STATUS_OK && on) status = make(call, server_demo(call->server), &fault);
    pthread_mutex_unlock(&making);
    if (status != STATUS_OK) {
        answer_fault(answer, &fault);
        return;
    }
    answer->cookie = on ? DEMO_COOKIE "=demo; Path=/; HttpOnly; SameSite=Strict; Max-Age=31536000"
                        : DEMO_COOKIE "=; Path=/; HttpOnly; SameSite=Strict; Max-Age=0";
    answer_json(answer, 200, json_pack("{s:b}", "demo", on));
}
