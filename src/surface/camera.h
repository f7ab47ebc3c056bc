/* Colour from a photograph of a card: a shot is what one photograph says about the card's patches, its grey
 * ground and the spots; shots are corrected and fused into a reading that says how sure it is.
 *
 *     struct camera_shot shot;
 *     camera_shoot(&picture, &card, &located, spot, spots, arena, &shot, &fault)    // pixels -> means
 *     camera_read(&task, arena, &result, &fault)                                    // means -> Lab,
 * covariance
 *
 * docs/camera.md tells the method and what it reached. Everything is scalar double and deterministic. */
#ifndef RUSSET_SURFACE_CAMERA_H
#define RUSSET_SURFACE_CAMERA_H

#include "base/memory.h"
#include "surface/camera_fit.h"
#include "surface/camera_sample.h"
#include "surface/camera_tone.h"
#include "surface/locate.h"

enum { CAMERA_SPOTS_MOST = 16, CAMERA_SHOTS_MOST = 12, CAMERA_SURROUND_MOST = 400 };

/* A place on the part, in pixels; r 0: the card's window. */
struct camera_spot {
    double x, y, r;
};

struct camera_shot {
    bool raw;          /* no display curve was applied */
    double clip;       /* burnt out at and over this, 0..1 */
    double to_srgb[9]; /* linear sRGB of its channels, as the picture has it */
    int patches;       /* as on the card, in its order */
    struct camera_sample patch[CARD_PATCHES_MOST];
    int surrounds;
    struct camera_sample surround[CAMERA_SURROUND_MOST];
    int spots;
    struct camera_sample spot[CAMERA_SPOTS_MOST];
    struct camera_sample places[CARD_PLACES_MOST]; /* of the card's places, in its order */
};

/* Means of one photograph. spots 0: the window. INPUT: a spot outside the picture, no spot and no window. */
enum status camera_shoot(const struct picture *picture, const struct photo_card *card,
                         const struct located *located, const struct camera_spot spot[], int spots,
                         struct camera_shot *out, struct fault *fault) MUST_USE;

enum camera_shine { SHINE_BARE, SHINE_GEL, SHINE_POLARISED };

struct camera_task {
    const struct photo_card *card;
    int shots;
    const struct camera_shot *const *shot; /* of one set of spots */
    int seconds;
    const struct camera_shot *const *second; /* the same under another lamp; 0: none */
    int against; /* the last so many spots are no part of the reading: they are held against spot 0 */
    enum camera_shine shine;
    bool like_card; /* the spot is made of what the card's colours are made of */
    size_t library_count;
    const struct spectrum *library; /* mixes that the part may be made of; 0: no reflectance is estimated */
    bool library_is_own;            /* the shop's own mixes, not the built-in prior's */
};

struct camera_patch_error {
    double de00;    /* of the patch left out of the fit */
    struct lab lab; /* as seen then */
    bool used;      /* false: value not known, or left out as covered */
};

enum { CAMERA_COMMON = 12 };

struct camera_colour {
    struct lab lab;
    double cov[3][3];
    double u95_de00;
    /* Of that covariance what all colours of the photographs share: common[m] is added to the XYZ (of white
     * 100) by the m-th of so many errors of sd 1 (the tone curve, the balance, the map). Zero where the card
     * has colours enough to tell them. */
    double common[CAMERA_COMMON][3];
    double own[3]
              [3]; /* beside common: what is left when what the camera sees otherwise than the eye is known */
};

struct camera_difference {
    double dlab[3]; /* spot i minus spot 0 */
    double de00;
    double cov[3][3]; /* when both are of the same pigments */
    double u95_de00;
    double unlike_cov[3][3]; /* when they are not */
    double unlike_u95_de00;
};

struct camera_result {
    struct camera_colour mean;                    /* of the spots */
    int spots;                                    /* of the reading, without those against it */
    struct camera_colour spot[CAMERA_SPOTS_MOST]; /* each, those against it behind */
    double spot_spread_de00;                      /* largest distance of a spot from their mean; 0 for one */
    struct camera_difference against[CAMERA_SPOTS_MOST]; /* [i]: spot i against spot 0; [0] is zero */
    int shots, shots_kept;
    bool shot_kept[CAMERA_SHOTS_MOST];
    double shot_de00[CAMERA_SHOTS_MOST]; /* of each from the middle */
    enum tone_kind tone;                 /* of the first kept shot */
    enum camera_model model;             /* likewise */
    bool two_lamps;
    bool few_colours; /* the card has too few colours for a map of its own: the display's was leant on */
    int patches;
    struct camera_patch_error patch[CARD_PATCHES_MOST];
    double loo_mean, loo_max; /* of the patches that were used */
    double gradient;          /* brightest over darkest of the light over the patches, less 1 */
    double glare;             /* veil, as a part of white; NAN when it cannot be told */
    bool has_reflectance;
    struct spectrum reflectance, band; /* band: half width of the 95 % interval */
    bool unlike_library;               /* no mix of the library comes near: the band was widened */
    bool place_seen[CARD_PLACES_MOST];
    struct camera_colour place[CARD_PLACES_MOST]; /* of the card's places, in its order */
};

/* INPUT with the reason and what to do: burnt out or covered patches, crushed black, uneven light, wrong
 * card, shots that do not agree. */
enum status camera_read(const struct camera_task *task, struct arena *arena, struct camera_result *out,
                        struct fault *fault) MUST_USE;

#endif
