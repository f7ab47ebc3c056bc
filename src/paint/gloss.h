/* Gloss units (ISO 2813): specular reflectance at 20, 60 or 85 degrees against black glass of index 1.567,
 * which is 100 GU.
 *
 * By Fresnel (fresnel_at in surface.h) a smooth coat of index n shows 100 R(n)/R(1.567) GU; n = 1.5
 * gives 82.05 / 89.14 / 98.97 (computed), so a clear seldom reads more. Angle (ISO 2813, ASTM D523): 60
 * degrees; 20 when 60 reads over 70 GU; 85 when 60 reads under 10 GU. */
#ifndef RUSSET_PAINT_GLOSS_H
#define RUSSET_PAINT_GLOSS_H

enum gloss_angle { GLOSS_20, GLOSS_60, GLOSS_85, GLOSS_ANGLES };

double gloss_degrees(enum gloss_angle angle);
double gloss_of_smooth(double index, enum gloss_angle angle);
enum gloss_angle gloss_angle_for(double gu60);

#endif
