/* A photograph taken and read, again and again: what the trials of the camera share. */
#ifndef RUSSET_TESTS_CAMERA_TRIAL_H
#define RUSSET_TESTS_CAMERA_TRIAL_H

#include "camera/cards.h"
#include "surface/camera.h"

enum { TRIAL_MOST = 8000, TRIAL_LEATHERS = 12, TRIAL_POSES = CAMERAS * LAMPS * TILTS };

enum trial_card { TRIAL_OWN, TRIAL_CLASSIC };

struct trial_room {
    struct room *room;
    enum trial_card kind;
    struct photo_card card;
    struct spectrum truth[CARD_PATCHES_MOST];
    struct spectrum leather[LEATHERS], like[LEATHERS_LIKE];
};
struct trial_room *trial_open(enum trial_card kind);
void trial_close(struct trial_room *room);
/* scene_preset with what is really in the patches. */
void trial_scene(const struct trial_room *room, int camera, enum lamp lamp, int tilt, struct scene *scene);

struct trial_result {
    bool refused;
    enum word why;
    double de00, l;  /* off by; lightness of the truth */
    double u95, loo; /* as stated */
    double distance; /* d' cov^-1 d of the error */
    int leather;
    bool like;
    int camera, lamp, tilt;
};
struct trial_log {
    int count, retaken; /* retaken: burnt out, and so exposed one stop less, once or twice */
    struct trial_result result[TRIAL_MOST];
};

/* Pose n of the sweep: all cameras, lamps and tilts, in an order of which every beginning has of each. */
void trial_nth_scene(const struct trial_room *room, int n, struct scene *scene);
/* What a long sweep runs: all poses, or RUSSET_POSES of them from RUSSET_FIRST_POSE on. */
int trial_first_pose(void);
int trial_poses_wanted(void);
/* Poses first .. first + poses - 1, that many leathers each, of twelve; large: at 12 megapixels. */
void trial_sweep(const struct trial_room *room, int first, int poses, int leathers, bool like, bool large,
                 struct trial_log *log);

/* One pose; the leathers one after another in the window. like: leathers made of the card's toners. */
void trial_pose(const struct trial_room *room, const struct scene *scene, const int leather[], int leathers,
                bool like, struct trial_log *log);
/* The twelve leathers of picture number n: every fourth a black, all of the fifty in turn. */
void trial_leathers(int n, int leather[TRIAL_LEATHERS]);

/* locate, shoot, read. spot NULL: the window. */
enum status trial_read(const struct photo_card *card, const struct picture *picture,
                       const struct camera_spot *spot, int spots, bool like, struct arena *arena,
                       struct camera_result *out, struct fault *fault);

/* What was said against what is. */
struct trial_result trial_judge(const struct camera_colour *said, const struct spectrum *truth);

/* Of an error that is normal, alike in three directions, its square over that of the 95 % interval is 3
 * / 7.815 on the mean; this much when the interval holds 99 %: 3 / 11.345 (chi-squared of three degrees). A
 * few dozen readings tell it, where their share inside tells nothing. */
#define TRIAL_FILLS_LEAST (3 / 11.345)

struct trial_figures {
    double filled, filled_error; /* mean square of error over interval; its standard error (whole log) */
    int count, refused;
    double mean, median, p95, most;
    double covered; /* part with de00 <= u95 */
    double inside;  /* part with distance <= 7.815 (chi squared, 3, 95 %) */
    double u95_median;
};
/* Of the results with lightness in low..high. */
struct trial_figures trial_sum(const struct trial_log *log, double low, double high);
void trial_print(const char *title, const struct trial_figures *figures);
/* All, the dark ones, then by lamp, tilt and camera. */
void trial_print_log(const char *title, const struct trial_log *log);

#endif
