#include "server/pages.h"
#include <sodium.h>
#include <stdio.h>
#include <string.h>

#define PAGE(symbol) extern const unsigned char symbol##_begin[], symbol##_end[];
PAGE(page_index)
PAGE(page_script)
PAGE(page_style)
PAGE(page_icon)
PAGE(page_manifest)
#undef PAGE

struct page {
    const char *path, *type;
    const unsigned char *begin, *end;
};

static const struct page pages[] = {
    {"/", "text/html; charset=utf-8", page_index_begin, page_index_end},
    {"/app.js", "text/javascript; charset=utf-8", page_script_begin, page_script_end},
    {"/app.css", "text/css; charset=utf-8", page_style_begin, page_style_end},
    {"/icon.svg", "image/svg+xml", page_icon_begin, page_icon_end},
    {"/manifest.webmanifest", "application/manifest+json", page_manifest_begin, page_manifest_end},
};

static const char *etag_of(const struct page *page, struct arena *arena) {
    unsigned char digest[16];
    char tag[40] = "\"";
    crypto_generichash(digest, sizeof digest, page->begin, (unsigned long long)(page->end - page->begin),
                       NULL, 0);
    sodium_bin2hex(tag + 1, 33, digest, sizeof digest);
    strcat(tag, "\"");
    return arena_text(arena, tag, strlen(tag));
}

static void send_page(const struct page *page, const struct call *call, struct answer *answer) {
    answer->etag = etag_of(page, call->arena);
    answer->type = page->type;
    const char *known = call->header(call, "If-None-Match");
    if (known && strcmp(known, answer->etag) == 0) {
        answer->code = 304;
        return;
    }
    answer->fixed = page->begin;
    answer->fixed_size = (size_t)(page->end - page->begin);
}

/* Places inside the page ("/job/...") are the page's own affair: all of them get its one document. */
static bool is_place_of_the_page(const char *path) {
    return !text_starts(path, "/api/") && !strchr(path, '.');
}

bool pages_answer(const struct call *call, struct answer *answer) {
    if (strcmp(call->method, "GET") != 0) return false;
    for (size_t i = 0; i < sizeof pages / sizeof *pages; i++)
        if (strcmp(pages[i].path, call->path) == 0) return send_page(&pages[i], call, answer), true;
    if (!is_place_of_the_page(call->path)) return false;
    send_page(&pages[0], call, answer);
    return true;
}
