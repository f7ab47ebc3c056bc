/* Peer: spec2cie of Debian's argyll (an outside program). It reads spectra that were written by russet and
 * writes them anew in its own CGATS dialect (SPEC_ columns, per cent, names rounded to whole nm), which
 * russet reads back; its own D65/10 Lab comes along. */
#include "formats/cgats_out.h"
#include "read_help.h"
#include <sys/wait.h>
#include <unistd.h>

enum { SAMPLES = 60, MOST = 160 };

static double value[SAMPLES][MOST];

/* Smooth curves: a logistic edge and a hump over a floor. */
static void invent(double first, double step, int count) {
    unsigned long long seed = 11;
    for (int s = 0; s < SAMPLES; s++) {
        const double edge = 420 + 260 * check_random(&seed), width = 8 + 40 * check_random(&seed);
        const double low = 0.02 + 0.2 * check_random(&seed), high = 0.1 + 0.8 * check_random(&seed);
        for (int i = 0; i < count; i++) {
            const double nm = first + step * i;
            value[s][i] = low + (high - low) / (1 + exp((edge - nm) / width));
        }
    }
}

static void write_ti3(const char *path, double first, double step, int count) {
    FILE *f = fopen(path, "w");
    CHECK(f != NULL);
    if (!f) return;
    fprintf(
        f,
        "CTI3\n\nDESCRIPTOR \"t\"\nORIGINATOR \"russet\"\nKEYWORD \"DEVICE_CLASS\"\nDEVICE_CLASS \"OUTPUT\"\n"
        "KEYWORD \"COLOR_REP\"\nCOLOR_REP \"iRGB_XYZ\"\nKEYWORD \"SPECTRAL_BANDS\"\nSPECTRAL_BANDS \"%d\"\n"
        "KEYWORD \"SPECTRAL_START_NM\"\nSPECTRAL_START_NM \"%.6f\"\nKEYWORD "
        "\"SPECTRAL_END_NM\"\nSPECTRAL_END_NM \"%.6f\"\n"
        "\nNUMBER_OF_FIELDS %d\nBEGIN_DATA_FORMAT\nSAMPLE_ID RGB_R RGB_G RGB_B XYZ_X XYZ_Y XYZ_Z",
        count, first, first + step * (count - 1), count + 7);
    for (int i = 0; i < count; i++) fprintf(f, " SPEC_%03d", (int)(first + step * i + 0.5));
    fprintf(f, "\nEND_DATA_FORMAT\nNUMBER_OF_SETS %d\nBEGIN_DATA\n", SAMPLES);
    for (int s = 0; s < SAMPLES; s++) {
        fprintf(f, "%d 0 0 0 0 0 0", s + 1);
        for (int i = 0; i < count; i++) fprintf(f, " %.6f", 100 * value[s][i]);
        fprintf(f, "\n");
    }
    fprintf(f, "END_DATA\n");
    fclose(f);
}

static double farthest; /* between what was written and what came back at the bands */

static void compare_bands(double first, double step, int count) {
    for (size_t s = 0; s < file.count; s++)
        for (int b = 0; b < BANDS; b++) {
            const double at = (400 + 10 * b - first) / step;
            const int i = (int)(at + 0.5);
            if (i >= count || fabs(at - i) > 1e-6) continue;
            farthest = fmax(farthest, fabs(file.sample[s].reading.reflectance.band[b] - value[s][i]));
        }
}

/* Its Lab against ours; only where the column is there. */
static double lab_apart(void) {
    double most = 0;
    for (size_t s = 0; s < file.count; s++) {
        static const char *const names[] = {"D65LAB_L", "D65LAB_A", "D65LAB_B"};
        const struct lab lab = file.sample[s].reading.lab;
        const double ours[] = {lab.l, lab.a, lab.b};
        for (int i = 0; i < 3; i++) {
            const char *text = sample_field_text(&file.sample[s], names[i]);
            CHECK(text != NULL);
            if (text) most = fmax(most, fabs(strtod(text, NULL) - ours[i]));
        }
    }
    return most;
}

/* lab_most: by 10 nm both see the same numbers; of a finer grid argyll integrates all bands, russet keeps its
 * 31, and an edge of 8 nm shows what that costs. */
static void run_grid(double first, double step, int count, double lab_most) {
    char folder[] = "/tmp/russet-argyll-XXXXXX", in[64], out[64], command[300];
    CHECK(mkdtemp(folder) != NULL);
    snprintf(in, sizeof in, "%s/in.ti3", folder);
    snprintf(out, sizeof out, "%s/out.ti3", folder);
    invent(first, step, count);
    write_ti3(in, first, step, count);
    snprintf(command, sizeof command, "spec2cie -i D65 -o 1964_10 %s %s > /dev/null 2>&1", in, out);
    const int ended = system(command);
    CHECK(WIFEXITED(ended) && WEXITSTATUS(ended) == 0);
    struct bytes bytes;
    start_afresh();
    CHECK(disk_read(disk_real(), out, DISK_TEXT_MIB, arena, &bytes, &fault) == STATUS_OK);
    CHECK(sample_file_read(&bytes, GEOMETRY_UNKNOWN, arena, &file, &fault) == STATUS_OK);
    if (fault.word) printf("  %s\n", fault.text);
    CHECK(file.count == SAMPLES);
    farthest = 0;
    compare_bands(first, step, count);
    CHECK_AT_MOST(farthest, 1e-6);
    const double lab = lab_apart();
    CHECK_AT_MOST(lab, lab_most);
    printf("  figure: %.4g..%.4g nm by %.4g: %s, bands apart at most %.2g, Lab apart at most %.4f\n", first,
           first + step * (count - 1), step, file.scale, farthest, lab);
    remove(in);
    remove(out);
    rmdir(folder);
}

static void what_argyll_writes_is_read(void) {
    run_grid(380, 10, 36, 0.02);
    run_grid(400, 10, 31, 0.02);
    run_grid(380, 5, 71, 0.15);
    run_grid(380, 10.0 / 3, 106, 0.15);
}

int main(void) {
    RUN(what_argyll_writes_is_read);
    arena_free(arena);
    return check_done();
}
