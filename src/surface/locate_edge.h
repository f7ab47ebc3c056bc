/* The edges of a tag measured on the whole picture (part of surface/locate; nobody else needs it). */
#ifndef RUSSET_SURFACE_LOCATE_EDGE_H
#define RUSSET_SURFACE_LOCATE_EDGE_H

#include "surface/homography.h"
#include "surface/picture.h"

struct edge_quality {
    double whole;   /* part of the places along the edges where an edge was found on the line */
    double off_px;  /* rms distance of the found places from the lines */
    double edge_px; /* width from 10 to 90 %, median */
};

/* Moves the corners of a tag (top left, clockwise) to where its edges cross; reach_px: how far off they may
 * be. False when an edge is not there. */
bool edge_refine(const struct picture *picture, struct point corner[4], double reach_px,
                 struct edge_quality *quality) MUST_USE;

#endif
