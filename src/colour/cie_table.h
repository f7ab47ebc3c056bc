/* The CIE's published tables as constants, made from data/cie when russet is built (tools/make_tables.c). */
#ifndef RUSSET_COLOUR_CIE_TABLE_H
#define RUSSET_COLOUR_CIE_TABLE_H

struct cie_table {
    const char
        *name; /* the file's name without ".csv": "illum_D65", "cmf_CIE_1964_10_Degree_Standard_Observer" */
    double first_nm, step_nm;
    int rows, columns;
    const double *value; /* rows x columns */
};

extern const struct cie_table cie_tables[]; /* ended by name NULL */

#endif
