/* The printed card, read back by outside programs: Poppler's pdftocairo draws the PDF at 300 dots an inch,
 * and libapriltag finds the tags in the picture. Then every corner must lie where the card's JSON says, to a
 * tenth of a millimetre, and the rulers must measure 100 mm. */
#include "base/memory.h"
#include "check.h"
#include "report/card_sheet.h"
#include "surface/tag_cells.h"
#include <apriltag/apriltag.h>
#include <apriltag/tag36h11.h>
#include <cairo.h>
#include <sys/wait.h>
#include <unistd.h>

static const double dots_per_mm = 300 / 25.4;

struct sheet_picture {
    int width, height;
    unsigned char *grey;
};

static bool run(const char *program, char *const word[]) {
    const pid_t child = fork();
    if (child == 0) {
        execvp(program, word);
        _exit(127);
    }
    int status = 1;
    return waitpid(child, &status, 0) == child && WIFEXITED(status) && WEXITSTATUS(status) == 0;
}

/* The first sheet of the PDF as grey values. */
static struct sheet_picture drawn(const struct text *pdf) {
    char folder[] = "/tmp/card-paper-XXXXXX", path[64], png[64], stem[64];
    struct sheet_picture out = {0};
    CHECK(mkdtemp(folder) != NULL);
    snprintf(path, sizeof path, "%s/card.pdf", folder), snprintf(png, sizeof png, "%s/sheet.png", folder);
    snprintf(stem, sizeof stem, "%s/sheet", folder);
    FILE *file = fopen(path, "wb");
    CHECK(file && fwrite(pdf->data, 1, pdf->length, file) == pdf->length);
    if (file) fclose(file);
    CHECK(run("pdftocairo", (char *[]){(char[]){"pdftocairo"}, (char[]){"-png"}, (char[]){"-r"},
                                       (char[]){"300"}, (char[]){"-singlefile"}, path, stem, NULL}));
    cairo_surface_t *surface = cairo_image_surface_create_from_png(png);
    CHECK(cairo_surface_status(surface) == CAIRO_STATUS_SUCCESS);
    out.width = cairo_image_surface_get_width(surface), out.height = cairo_image_surface_get_height(surface);
    out.grey = memory_need((size_t)(out.width * out.height) + 1, 1);
    const unsigned char *data = cairo_image_surface_get_data(surface);
    const int stride = cairo_image_surface_get_stride(surface);
    for (int y = 0; y < out.height; y++)
        for (int x = 0; x < out.width; x++) out.grey[y * out.width + x] = data[y * stride + 4 * x + 1];
    cairo_surface_destroy(surface);
    unlink(path), unlink(png), rmdir(folder);
    return out;
}

static int grey_at(const struct sheet_picture *picture, double x_mm, double y_mm) {
    const int x = (int)(x_mm * dots_per_mm), y = (int)(y_mm * dots_per_mm);
    return x < 0 || y < 0 || x >= picture->width || y >= picture->height
               ? -1
               : picture->grey[y * picture->width + x];
}

static const struct photo_tag *tag_of(const struct photo_card *card, int id) {
    for (int i = 0; i < card->tags; i++)
        if (card->tag[i].id == id) return &card->tag[i];
    return NULL;
}

/* libapriltag gives the corners of the black square counter-clockwise from the bottom left. */
static double worst_corner(const struct sheet_picture *picture, const struct photo_card *card, double x0,
                           double y0, int *found) {
    image_u8_t image = {picture->width, picture->height, picture->width, picture->grey};
    apriltag_family_t *family = tag36h11_create();
    apriltag_detector_t *detector = apriltag_detector_create();
    apriltag_detector_add_family_bits(detector, family, 0);
    zarray_t *detections = apriltag_detector_detect(detector, &image);
    double worst = 0;
    for (int i = 0; i < zarray_size(detections); i++) {
        apriltag_detection_t *d;
        zarray_get(detections, i, &d);
        const struct photo_tag *tag = tag_of(card, d->id);
        CHECK(tag != NULL);
        if (!tag) continue;
        ++*found;
        static const int order[4] = {3, 2, 1, 0}; /* ours, of its p[0..3] */
        for (int k = 0; k < 4; k++) {
            const double x = d->p[k][0] / dots_per_mm - x0, y = d->p[k][1] / dots_per_mm - y0;
            worst = fmax(worst, hypot(x - tag->corner_mm[order[k]][0], y - tag->corner_mm[order[k]][1]));
        }
    }
    apriltag_detections_destroy(detections);
    apriltag_detector_destroy(detector);
    tag36h11_destroy(family);
    return worst;
}

/* Length of the lower ruler from its first black column to its last. */
static double ruler_mm(const struct sheet_picture *picture, double y_mm) {
    const int y = (int)(y_mm * dots_per_mm);
    int first = -1, last = -1;
    for (int x = 0; x < picture->width; x++)
        if (picture->grey[y * picture->width + x] < 128) {
            if (first < 0) first = x;
            last = x;
        }
    return (last - first) / dots_per_mm;
}

static void make(int which, struct photo_card *card, struct card_sheet *sheet) {
    static const char toner[3][48] = {"white", "oxide-red", "black"};
    *sheet = (struct card_sheet){.card = card, .look = (enum card_look)which, .paper = PAGE_A4};
    if (which == LOOK_OWN) photo_card_own(card);
    if (which == LOOK_START) CHECK(photo_card_start(toner, 3, 0, card));
    if (which != LOOK_FRAME) return;
    struct photo_card *chart = memory_need(1, sizeof *chart);
    photo_card_chart24(15, chart);
    photo_card_frame(chart, card);
    sheet->hole_mm[0] = sheet->hole_mm[1] = PHOTO_FRAME_EDGE_MM;
    sheet->hole_mm[2] = chart->size_mm[0], sheet->hole_mm[3] = chart->size_mm[1];
    memory_free(chart);
}

static void every_card_is_true_on_either_paper(void) {
    double worst = 0, ruler = 0;
    struct photo_card *card = memory_need(1, sizeof *card);
    for (int which = LOOK_OWN; which <= LOOK_START; which++)
        for (int letter = 0; letter < 2; letter++) {
            struct card_sheet sheet;
            struct text pdf = {0};
            struct fault fault;
            double x, y;
            int found = 0;
            make(which, card, &sheet);
            if (letter) sheet.paper = PAGE_LETTER;
            CHECK(card_sheet_fits(card, sheet.paper));
            CHECK(card_sheet_draw(&sheet, PAGE_PDF, &pdf, &fault) == STATUS_OK);
            struct sheet_picture picture = drawn(&pdf);
            card_sheet_origin(card, sheet.paper, &x, &y);
            worst = fmax(worst, worst_corner(&picture, card, x, y, &found));
            CHECK(found == card->tags);
            CHECK(abs(grey_at(&picture, x + card->size_mm[0] / 2, y + card->size_mm[1] - 1.5) - 118) <= 1);
            ruler = fmax(ruler, fabs(ruler_mm(&picture, y + card->size_mm[1] + 4.6) - 100));
            memory_free(picture.grey);
            text_free(&pdf);
        }
    memory_free(card);
    printf("  figure: corners of the printed tags off by %.3f mm at most, rulers by %.2f mm\n", worst, ruler);
    CHECK_AT_MOST(worst, .1);
    CHECK_AT_MOST(ruler, .25); /* a line is .15 mm wide */
}

/* The cells of ours are the family's picture of the tag. */
static void cells_are_the_familys(void) {
    apriltag_family_t *family = tag36h11_create();
    for (int id = 0; id < (int)family->ncodes; id += 7) {
        bool cell[TAG_CELLS][TAG_CELLS];
        tag_cells(id, cell);
        image_u8_t *image = apriltag_to_image(family, id);
        for (int r = 0; r < TAG_CELLS; r++)
            for (int c = 0; c < TAG_CELLS; c++)
                CHECK(cell[r][c] == (image->buf[r * image->stride + c] < 128));
        free(image->buf);
        free(image);
    }
    tag36h11_destroy(family);
}

int main(void) {
    RUN(cells_are_the_familys);
    RUN(every_card_is_true_on_either_paper);
    return check_done();
}
