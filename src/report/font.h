/* The shipped font for Pango: Noto Sans regular and bold (data/fonts) and nothing that is installed on the
 * machine. */
#ifndef RUSSET_REPORT_FONT_H
#define RUSSET_REPORT_FONT_H

#include <pango/pango.h>

/* A new font map; unref it when done. NULL when the machine gives no memory file to load the font from. */
PangoFontMap *font_map_new(void);
/* How often Pango warned in this thread so far: it draws on when a font cannot be opened. */
unsigned font_warnings(void);

#endif
