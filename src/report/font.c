/* Fontconfig loads fonts by file name only, so the bytes inside the program are lent to it as two anonymous
 * memory files (memfd_create) under /proc/self/fd. They stay open until the program ends: Cairo keeps faces
 * by file name, and a number that was closed and used again would name another file. The configuration is
 * empty but for these two, so no rule or font of the machine takes part. */
#include "report/font.h"
#include <fontconfig/fontconfig.h>
#include <pango/pangocairo.h>
#include <pango/pangofc-fontmap.h>
#include <pthread.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

extern const unsigned char font_regular_first[], font_regular_last[], font_bold_first[], font_bold_last[];

/* Fontconfig keeps its character sets as offsets from themselves, which a leak checker cannot follow: the one
 * configuration of the process would be called lost (the same few kilobytes, however many papers are drawn).
 */
#if defined(__SANITIZE_ADDRESS__)
#define WITH_LEAK_CHECKER 1
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define WITH_LEAK_CHECKER 1
#endif
#endif
#ifdef WITH_LEAK_CHECKER
const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void) {
    return "leak:libfontconfig\n";
}
const char *__lsan_default_options(void);
const char *__lsan_default_options(void) {
    return "print_suppressions=0";
}
#endif

static FcConfig *config; /* made once, NULL when it failed */

static int lend(const unsigned char *first, const unsigned char *last) {
    const int fd = memfd_create("font", MFD_CLOEXEC);
    while (fd >= 0 && first < last) {
        const ssize_t n = write(fd, first, (size_t)(last - first));
        if (n <= 0) return -1;
        first += n;
    }
    return fd;
}

static bool add(FcConfig *to, const unsigned char *first, const unsigned char *last) {
    const int fd = lend(first, last);
    char path[40];
    snprintf(path, sizeof path, "/proc/self/fd/%d", fd);
    return fd >= 0 && FcConfigAppFontAddFile(to, (const FcChar8 *)path);
}

static void make_config(void) {
    FcConfig *made = FcConfigCreate();
    if (made && add(made, font_regular_first, font_regular_last) &&
        add(made, font_bold_first, font_bold_last))
        config = made;
}

/* Pango goes on without a font that it cannot open and only warns; a paper is not handed out then. */
static _Thread_local unsigned warnings;

static GLogWriterOutput count_warning(GLogLevelFlags level, const GLogField *field, gsize fields,
                                      gpointer nothing) {
    (void)nothing;
    for (gsize i = 0; i < fields; i++)
        if (strcmp(field[i].key, "GLIB_DOMAIN") == 0 && field[i].value &&
            strcmp(field[i].value, "Pango") == 0 && (level & (G_LOG_LEVEL_WARNING | G_LOG_LEVEL_CRITICAL)))
            return warnings++, G_LOG_WRITER_HANDLED;
    return g_log_writer_default(level, field, fields, nothing);
}

unsigned font_warnings(void) {
    return warnings;
}

static void make_once(void) {
    make_config();
    g_log_set_writer_func(count_warning, NULL, NULL);
}

PangoFontMap *font_map_new(void) {
    static pthread_once_t once = PTHREAD_ONCE_INIT;
    pthread_once(&once, make_once);
    if (!config) return NULL;
    PangoFontMap *map = pango_cairo_font_map_new_for_font_type(CAIRO_FONT_TYPE_FT);
    pango_fc_font_map_set_config(PANGO_FC_FONT_MAP(map), config);
    pango_cairo_font_map_set_resolution(PANGO_CAIRO_FONT_MAP(map), 72);
    return map;
}
