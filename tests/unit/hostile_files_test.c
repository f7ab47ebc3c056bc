/* Files that nobody should hand in, and that somebody will: each must end in one sentence, in linear time and
 * bounded memory. */
#include "formats/drawdowns.h"
#include "read_help.h"
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

enum { BIG = 64 << 20 };

static void nothing_and_next_to_nothing(void) {
    static const char *const little[] = {"",
                                         " ",
                                         "\n\n",
                                         "\xEF\xBB\xBF",
                                         "\xEF\xBB\xBF\n",
                                         "\xFF\xFE",
                                         "\xFE\xFF",
                                         "#",
                                         "# only\n# words\n",
                                         "<",
                                         "{",
                                         "[",
                                         "\"",
                                         ",",
                                         ";;;",
                                         "\t",
                                         "0",
                                         "BEGIN_DATA",
                                         "BEGIN_DATA_FORMAT",
                                         "[]",
                                         "{}",
                                         "<a/>",
                                         "<CxF/>",
                                         "null",
                                         "CGATS.17\n",
                                         "\r",
                                         "\xC3\x28",
                                         "wavelength,value\n",
                                         "wavelength"};
    for (size_t i = 0; i < sizeof little / sizeof little[0]; i++) {
        CHECK(read_string(little[i]) == STATUS_INPUT);
        if (fault.status != STATUS_INPUT) printf("  %zu was taken\n", i);
    }
    CHECK(read_bytes("\xFF\xFE"
                     "a\0b",
                     5, GEOMETRY_UNKNOWN) == STATUS_INPUT);
    CHECK(fault.word == WORD_FILE_UTF16_CUT);
}

static void binary_is_told_from_text(void) {
    unsigned long long seed = 3;
    unsigned char bytes[5000];
    for (int round = 0; round < 50; round++) {
        for (size_t i = 0; i < sizeof bytes; i++) bytes[i] = (unsigned char)(256 * check_random(&seed));
        CHECK(read_bytes(bytes, sizeof bytes, GEOMETRY_UNKNOWN) == STATUS_INPUT);
    }
    CHECK(read_bytes("\x89PNG\r\n\x1a\n\0\0\0\rIHDR", 16, GEOMETRY_UNKNOWN) == STATUS_INPUT);
    CHECK(fault.word == WORD_FILE_NOT_TEXT);
}

/* Every piece of a good file, cut at every byte: a sentence or the samples that were whole, never a fall. */
static void a_file_cut_anywhere_is_refused_or_read(void) {
    static const char *const names[] = {"spelling-0.txt", "rows.csv",  "columns-two.csv", "two-objects.cxf",
                                        "two-tables.txt", "pairs.txt", "rows-utf16.csv"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        char path[300];
        struct bytes whole;
        struct arena *keep = arena_new();
        snprintf(path, sizeof path, "%s/formats/%s", TEST_DATA, names[i]);
        CHECK(disk_read(disk_real(), path, DISK_TEXT_MIB, keep, &whole, &fault) == STATUS_OK);
        for (size_t n = 0; n <= whole.size; n++) {
            const enum status status = read_bytes(whole.data, n, GEOMETRY_UNKNOWN);
            CHECK(status == STATUS_OK || status == STATUS_INPUT);
        }
        arena_free(keep);
    }
}

/* The worst of each reader's kind: a head and a piece that goes on and on. */
static const struct {
    const char *head, *piece;
} worst[] = {
    {"", "a"},
    {"", "1"},
    {"", "1,"},
    {"", ","},
    {"", "\""},
    {"", "\"\" "},
    {"", " "},
    {"", "\n"},
    {"", "\r\n"},
    {"", "#"},
    {"", "\xE9"},
    {"", "400,0.1\n"},
    {"wavelength,value\n", "400,0.1\n"},
    {"SAMPLE_ID,400,410,420,430,440,450,460\n", "\n"},
    {"", "BEGIN_DATA "},
    {"", " BEGIN_DATA"},
    {"CGATS\n", "BEGIN_DATA_FORMAT A END_DATA_FORMAT\n"},
    {"CGATS\n", "BEGIN_DATA_FORMAT\nA\nEND_DATA_FORMAT\nBEGIN_DATA\n1\nEND_DATA\n"},
    {"CGATS\nBEGIN_DATA_FORMAT\nLAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n", "1 1 1\n"},
    {"CGATS\nBEGIN_DATA_FORMAT\n", "A "},
    {"CGATS\nBEGIN_DATA_FORMAT\nA\nEND_DATA_FORMAT\nBEGIN_DATA\n", "1 "},
    {"CGATS\nKEY ", "v "},
    {"CGATS\nBEGIN_DATA\nKEY \"", "v"},
    {"", "K V\n"},
    {"", "["},
    {"[", "0,"},
    {"[", "{},"},
    {"{\"a\":\"", "\\u0041"},
    {"<CxF>", "<a>"},
    {"<CxF>", "<Object/>"},
    {"<CxF>", "<Object><ColorValues><ReflectanceSpectrum>1 </ReflectanceSpectrum></ColorValues></Object>"},
    {"<CxF><Object><ReflectanceSpectrum>", "1 "},
    {"<CxF>", "<ColorSpecification Id='a'/>"},
    {"<CxF>", "<!-- x -->"},
    {"<CxF a='", "x"},
    {"<CxF><", "x"},
    {"<CxF>", "&lt;"},
    {"<", "a "}};

static void read_the_worst(size_t size, size_t from, size_t step) {
    for (size_t i = from; i < sizeof worst / sizeof worst[0]; i += step) {
        const size_t head = strlen(worst[i].head), piece = strlen(worst[i].piece);
        char *bytes = malloc(size);
        memcpy(bytes, worst[i].head, head);
        for (size_t k = head; k < size; k++) bytes[k] = worst[i].piece[(k - head) % piece];
        const enum status status = read_bytes(bytes, size, GEOMETRY_UNKNOWN);
        CHECK(status == STATUS_INPUT);
        free(bytes);
    }
    start_afresh();
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    printf("  figure: most memory over files of %zu MiB: %ld MiB\n", size >> 20, usage.ru_maxrss / 1024);
    if (!CHECK_SANITIZED) CHECK_AT_MOST((double)usage.ru_maxrss / 1024, 512);
}

static void megabytes_of_anything_end_in_a_sentence(void) {
    read_the_worst((CHECK_SANITIZED ? 1 : 4) << 20, 0, 1);
}

static void sixty_four_mib_on_one_line_end_in_a_sentence(void) {
    read_the_worst(BIG, 0, 13);
}

static void LONG_sixty_four_mib_of_anything_end_in_a_sentence(void) {
    read_the_worst(BIG, 0, 1);
}

static void entities_and_outside_files_are_never_opened(void) {
    CHECK(read_string("<?xml version=\"1.0\"?>\n<!DOCTYPE lolz [<!ENTITY a \"aaaaaaaaaa\"><!ENTITY b "
                      "\"&a;&a;&a;&a;&a;&a;&a;&a;\">"
                      "<!ENTITY c \"&b;&b;&b;&b;&b;&b;&b;&b;\">]>\n<CxF>&c;</CxF>") == STATUS_INPUT);
    CHECK(fault.word == WORD_XML_DOCTYPE && strstr(fault.text, "line 2"));
    CHECK(read_string("<!DOCTYPE CxF SYSTEM \"file:///etc/hostname\"><CxF/>") == STATUS_INPUT);
    CHECK(fault.word == WORD_XML_DOCTYPE);
    CHECK(read_string("<CxF>&undeclared;</CxF>") == STATUS_INPUT);
    CHECK(fault.word == WORD_XML_BROKEN);
    CHECK(read_string("<html><body>not found</body></html>") == STATUS_INPUT);
    CHECK(fault.word == WORD_XML_NOT_CXF);
}

/* The disk says what a folder, a closed file and a file too large are. */
static void folders_closed_files_and_giants_are_refused(void) {
    struct bytes bytes;
    char path[] = "/tmp/russet-hostile-XXXXXX";
    start_afresh();
    CHECK(disk_read(disk_real(), TEST_DATA, DISK_TEXT_MIB, arena, &bytes, &fault) == STATUS_INPUT);
    CHECK(fault.word == WORD_FILE_IS_DIRECTORY);
    CHECK(disk_read(disk_real(), "/nowhere/at/all", DISK_TEXT_MIB, arena, &bytes, &fault) == STATUS_INPUT);
    CHECK(fault.word == WORD_FILE_CANNOT_OPEN);
    const int fd = mkstemp(path);
    CHECK(fd >= 0 && ftruncate(fd, BIG + 1) == 0);
    CHECK(disk_read(disk_real(), path, DISK_TEXT_MIB, arena, &bytes, &fault) == STATUS_INPUT);
    CHECK(fault.word == WORD_FILE_TOO_LARGE);
    CHECK(fchmod(fd, 0) == 0);
    if (geteuid() != 0) {
        CHECK(disk_read(disk_real(), path, DISK_TEXT_MIB, arena, &bytes, &fault) == STATUS_INPUT);
        CHECK(fault.word == WORD_FILE_CANNOT_OPEN);
    }
    close(fd);
    unlink(path);
}

int main(void) {
    RUN(nothing_and_next_to_nothing);
    RUN(binary_is_told_from_text);
    RUN(a_file_cut_anywhere_is_refused_or_read);
    RUN(megabytes_of_anything_end_in_a_sentence);
    RUN(sixty_four_mib_on_one_line_end_in_a_sentence);
    RUN(LONG_sixty_four_mib_of_anything_end_in_a_sentence);
    RUN(entities_and_outside_files_are_never_opened);
    RUN(folders_closed_files_and_giants_are_refused);
    arena_free(arena);
    return check_done();
}
