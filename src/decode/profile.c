/* sRGB: IEC 61966-2-1, 5.2: V/12.92 up to .04045, else ((V+.055)/1.055)^2.4. Exact at both ends. A profile's
 * curve is evaluated by lcms2, values below 0 and over 1 are cut: 0 stays 0, the greatest value is 65535. */
#include "decode/profile.h"
#include <lcms2.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static double srgb_to_light(double v) {
    return v <= .04045 ? v / 12.92 : pow((v + .055) / 1.055, 2.4);
}

/* Item 1.2 of BT.709-6, turned round. */
static double bt709_to_light(double v) {
    return v < .081 ? v / 4.5 : pow((v + .099) / 1.099, 1 / .45);
}

static double curve_value(const struct file_light *light, int channel, double v) {
    if (light->profile_curve[channel])
        return (double)cmsEvalToneCurveFloat(light->profile_curve[channel], (float)v);
    if (light->bt709) return bt709_to_light(v);
    return light->gamma > 0 ? pow(v, light->gamma) : srgb_to_light(v);
}

static uint16_t to_word(double v) {
    return (uint16_t)(65535 * (v > 0 ? v < 1 ? v : 1 : 0) + .5);
}

static void make_curves(struct file_light *light, double clip_code) {
    unsigned clip = 65535;
    for (int c = 0; c < 3; c++) {
        for (int i = 0; i < 256; i++) light->curve8[c][i] = to_word(curve_value(light, c, i / 255.));
        const unsigned here = to_word(curve_value(light, c, clip_code));
        if (here < clip) clip = here;
    }
    light->clip = clip > 0 ? clip : 1;
    light->reduced = 1;
}

void light_of_srgb(struct file_light *light, bool known, double clip_code) {
    *light = (struct file_light){.to_srgb = {1, 0, 0, 0, 1, 0, 0, 0, 1},
                                 .curve_known = known,
                                 .note = known ? WIRE_NOTE_NONE : WIRE_NOTE_NO_PROFILE};
    make_curves(light, clip_code);
}

void light_of_gamma(struct file_light *light, double gamma, double clip_code) {
    light_of_srgb(light, true, clip_code);
    light->gamma = gamma;
    make_curves(light, clip_code);
}

void light_of_bt709(struct file_light *light, double clip_code) {
    light_of_srgb(light, true, clip_code);
    light->bt709 = true;
    make_curves(light, clip_code);
}

/* From the chromaticities of both (red .680 .320, green .265 .690, blue .150 .060 against .640 .330, .300
 * .600, .150 .060; white .3127 .3290), computed by the usual inversion. */
void light_with_p3(struct file_light *light) {
    static const double from_p3[9] = {1.2249402, -.2249402, 0,         -.0420570, 1.0420570,
                                      0,         -.0196376, -.0786361, 1.0982736};
    memcpy(light->to_srgb, from_p3, sizeof from_p3);
}

/* Linear sRGB (its primaries and white adapted to D50 as in its own profile) from the profile's colorants. */
static void set_primaries(struct file_light *light, const cmsCIEXYZ *const colorant[3]) {
    static const double from_d50[3][3] = {{3.1338561, -1.6168667, -.4906146},
                                          {-.9787684, 1.9161415, .0334540},
                                          {.0719453, -.2289914, 1.4052427}};
    for (int row = 0; row < 3; row++)
        for (int c = 0; c < 3; c++)
            light->to_srgb[3 * row + c] = from_d50[row][0] * colorant[c]->X +
                                          from_d50[row][1] * colorant[c]->Y +
                                          from_d50[row][2] * colorant[c]->Z;
}

static bool take_matrix(struct file_light *light, cmsHPROFILE profile) {
    static const cmsTagSignature curves[] = {cmsSigRedTRCTag, cmsSigGreenTRCTag, cmsSigBlueTRCTag};
    static const cmsTagSignature colorants[] = {cmsSigRedColorantTag, cmsSigGreenColorantTag,
                                                cmsSigBlueColorantTag};
    const cmsToneCurve *curve[3];
    const cmsCIEXYZ *colorant[3];
    for (int c = 0; c < 3; c++) {
        curve[c] = cmsReadTag(profile, curves[c]);
        colorant[c] = cmsReadTag(profile, colorants[c]);
        if (!curve[c] || !colorant[c]) return false;
    }
    for (int c = 0; c < 3; c++) light->profile_curve[c] = cmsDupToneCurve(curve[c]);
    set_primaries(light, colorant);
    return light->profile_curve[0] && light->profile_curve[1] && light->profile_curve[2];
}

/* The response of a profile of tables to neutral values: Y of (v, v, v) beside Y of white. */
static bool take_neutrals(struct file_light *light, cmsHPROFILE profile) {
    enum { STEPS = 1024 };
    cmsHPROFILE xyz = cmsCreateXYZProfile();
    cmsHTRANSFORM transform = cmsCreateTransform(profile, TYPE_RGB_FLT, xyz, TYPE_XYZ_DBL,
                                                 INTENT_RELATIVE_COLORIMETRIC, cmsFLAGS_NOOPTIMIZE);
    cmsCloseProfile(xyz);
    if (!transform) return false;
    float y[STEPS];
    for (int i = 0; i < STEPS; i++) {
        const float v = (float)i / (STEPS - 1);
        const float rgb[3] = {v, v, v};
        cmsCIEXYZ out;
        cmsDoTransform(transform, rgb, &out, 1);
        y[i] = (float)out.Y;
    }
    cmsDeleteTransform(transform);
    if (!(y[STEPS - 1] > 0.1F)) return false;
    for (int i = 0; i < STEPS; i++) y[i] /= y[STEPS - 1];
    for (int c = 0; c < 3; c++) light->profile_curve[c] = cmsBuildTabulatedToneCurveFloat(NULL, STEPS, y);
    return light->profile_curve[0] && light->profile_curve[1] && light->profile_curve[2];
}

/* A curve that does not rise from dark to bright would read the photograph wrongly. */
static bool curves_rise(const struct file_light *light) {
    for (int c = 0; c < 3; c++) {
        double before = -1;
        for (int i = 0; i < 256; i++) {
            const double v = curve_value(light, c, i / 255.);
            if (!(v >= before - 1e-6)) return false;
            before = v;
        }
        if (!(before > .5 && before < 2)) return false;
    }
    for (size_t i = 0; i < 9; i++)
        if (!(fabs(light->to_srgb[i]) < 100)) return false;
    return true;
}

static void quiet(cmsContext context, cmsUInt32Number code, const char *text) {
    (void)context, (void)code, (void)text;
}

void light_of_profile(struct file_light *light, const void *icc, size_t size, double clip_code) {
    light_of_srgb(light, true, clip_code);
    cmsSetLogErrorHandler(quiet);
    cmsHPROFILE profile = size < UINT32_MAX ? cmsOpenProfileFromMem(icc, (cmsUInt32Number)size) : NULL;
    bool taken = profile && cmsGetColorSpace(profile) == cmsSigRgbData &&
                 (take_matrix(light, profile) || take_neutrals(light, profile)) && curves_rise(light);
    if (profile) cmsCloseProfile(profile);
    if (!taken) {
        light_end(light);
        light_of_srgb(light, false, clip_code);
        light->note = WIRE_NOTE_BAD_PROFILE;
        return;
    }
    make_curves(light, clip_code);
}

void light_widen(struct file_light *light) {
    for (int c = 0; c < 3; c++) {
        light->curve16[c] = malloc(65536 * sizeof(uint16_t));
        if (!light->curve16[c]) abort();
        if (c > 0 && !light->profile_curve[0] && !light->profile_curve[c]) { /* one curve for all channels */
            memcpy(light->curve16[c], light->curve16[0], 65536 * sizeof(uint16_t));
            continue;
        }
        for (int i = 0; i < 65536; i++) light->curve16[c][i] = to_word(curve_value(light, c, i / 65535.));
    }
}

void light_end(struct file_light *light) {
    for (int c = 0; c < 3; c++) {
        free(light->curve16[c]);
        if (light->profile_curve[c]) cmsFreeToneCurve(light->profile_curve[c]);
        light->curve16[c] = NULL;
        light->profile_curve[c] = NULL;
    }
}
