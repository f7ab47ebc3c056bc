/* A spectral renderer of photographs: a card, a leather in its window and around it, a lamp, a camera and a
 * hand that holds it. It shares no code with what measures photographs (src/surface): the card's geometry and
 * the value of each patch are all that both know.
 *
 *     struct scene scene;
 *     scene_preset(&scene, card, camera, lamp, tilt);     // then change what the trial is about
 *     scene.window.colour = leather;
 *     struct plate *plate = plate_expose(&scene);         // light on the sensor, no noise yet
 *     plate_refill(plate, &other_leather);                // another leather in the same window
 *     struct picture picture = plate_develop(plate, &scene.sensor, memory);   // as picture_load would give
 * it plate_free(plate);
 *
 * What is in it, in this order: reflectance x lamp x sensitivities (cameras.h); grain, creases, perforation,
 * specular residue and glints of the leather; pose through a pinhole with radial distortion, edges by area;
 * lamp's fall-off over the card, vignetting, veiling glare, blur; shot and read noise, 12 bits; the camera's
 * own matrix and display curve, JPEG. docs/camera-room.md says which numbers the trials use and why. */
#ifndef RUSSET_TESTS_CAMERA_RENDER_H
#define RUSSET_TESTS_CAMERA_RENDER_H

#include "base/memory.h"
#include "camera/cameras.h"
#include "surface/photo_card.h"
#include "surface/picture.h"

enum { COVERS_MOST = 6, TILTS = 3, GRAIN_SIDE = 256 };

struct leather {
    struct spectrum colour;
    double grain;    /* root mean square slope of the surface; finished leather .05 .. .2 (from memory) */
    double shine;    /* specular residue of a flat piece: fraction of what a perfect diffuser returns */
    double glints;   /* what a facet that faces the mirror direction adds, same unit */
    int creases;     /* dark lines through the window, light on one side */
    double pitch_mm; /* of a perforation with holes of .8 mm; 0: none */
};

struct cover { /* something that lies on the card: a square of that grey, or leather with the window's grain
                */
    double x_mm, y_mm, w_mm, h_mm, reflectance;
    const struct spectrum *leather; /* borrowed; NULL: grey */
};

/* What is in the patches; by default what the card says of them. */
struct scene {
    const struct photo_card *card;
    struct spectrum patch[CARD_PATCHES_MOST], place[CARD_PLACES_MOST];
    struct leather window, ground;
    struct cover cover[COVERS_MOST];
    int covers;
    double grey_y;        /* of the card's ground, whatever the card says */
    double patch_more_mm; /* patches are drawn this much larger than what of them is used */
    double hole_mm[4];    /* of a frame: x, y, width, height; dark between the patches */
    double patch_shine;   /* specular residue of the card's matt patches; the trap returns none */
    int camera;
    enum lamp lamp;
    int width, height;
    double filled; /* what the card takes of the picture's width when it lies straight */
    double tilt_deg, towards_deg,
        turn_deg;            /* the plane's lean, the direction it leans to, roll of the camera */
    double shift_x, shift_y; /* of the card's middle, in picture widths */
    double distortion;       /* ideal radius = radius (1 + k radius^2), radius 1 at the corner */
    double vignetting;       /* loss in the corner */
    double fall_x, fall_y;   /* change of the lamp's light along the card's width and height */
    double glare;            /* veil, fraction of the picture's mean */
    double blur_px;          /* standard deviation */
    struct sensor {
        double exposure;   /* where a perfect diffuser lands, 1: burnt out */
        double full_well;  /* electrons at 1 in the strongest channel */
        double read_noise; /* electrons */
        double balance[3]; /* error of the camera's white balance, 1: none */
        double curve;      /* S of the display curve, 0 .. .9; 0: plain sRGB */
        int quality;       /* of the JPEG, 0: raw, linear */
        unsigned long long seed;
    } sensor;
};

/* The usual conditions of trial (camera, lamp, tilt 0..2): 3 megapixels, JPEG 90. */
void scene_preset(struct scene *scene, const struct photo_card *card, int camera, enum lamp lamp, int tilt);
void scene_large(struct scene *scene); /* 12 megapixels */

struct plate;
struct plate *plate_expose(const struct scene *scene);
void plate_refill(struct plate *plate, const struct leather *leather); /* only the window is made anew */
void plate_free(struct plate *plate);

/* Where a point of the card is in the picture; a pixel's origin is its corner. */
void plate_place(const struct plate *plate, const double mm[2], double px[2]);

/* The picture as the loader gives it: JPEG decoded and its sRGB curve undone, or raw. rgb is the arena's. */
struct picture plate_develop(const struct plate *plate, const struct sensor *sensor, struct arena *arena);
/* After plate_refill: the window of a JPEG picture is developed again; the rest stays as it was. */
void plate_again(const struct plate *plate, const struct sensor *sensor, struct picture *picture);
/* The JPEG file's bytes (memory_free). */
unsigned char *plate_jpeg(const struct plate *plate, const struct sensor *sensor, size_t *bytes);
/* The developed picture before the curve, 16 bits a channel, rows from the top; for a DNG or a TIFF. */
void plate_raw(const struct plate *plate, const struct sensor *sensor, unsigned short *rgb);
int plate_width(const struct plate *plate);
int plate_height(const struct plate *plate);

/* The spectrum of a grey surround, of printer's black and of paper (invented, near neutral). */
void grey_ink(double y, struct spectrum *out);

#endif
