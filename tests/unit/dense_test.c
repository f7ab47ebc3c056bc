#include "base/dense.h"
#include "check.h"

/* The Hilbert matrix of order 4 and its inverse are known in whole numbers (handbook table, from memory:
 * first row 16 -120 240 -140). */
static void the_hilbert_matrix_is_inverted(void) {
    double h[16], e[4] = {1, 0, 0, 0};
    for (int i = 0; i < 4; i++)
        for (int j = 0; j < 4; j++) h[i * 4 + j] = 1.0 / (i + j + 1);
    CHECK(dense_cholesky(h, 4));
    dense_cholesky_solve(h, 4, e);
    CHECK_NEAR(e[0], 16, 1e-9);
    CHECK_NEAR(e[1], -120, 1e-8);
    CHECK_NEAR(e[2], 240, 1e-8);
    CHECK_NEAR(e[3], -140, 1e-8);
}

static void what_is_not_positive_definite_is_refused(void) {
    double zero[4] = {1, 1, 1, 1}, negative[1] = {-1}, nothing[4] = {1, NAN, NAN, 1};
    CHECK(!dense_cholesky(zero, 2));
    CHECK(!dense_cholesky(negative, 1));
    CHECK(!dense_cholesky(nothing, 2));
}

static void the_forward_solve_gives_the_quadratic_form(void) {
    double a[4] = {4, 2, 2, 3}, b[2] = {1, 2};
    CHECK(dense_cholesky(a, 2));
    dense_forward_solve(a, 2, b);
    CHECK_NEAR(b[0] * b[0] + b[1] * b[1], 1.375, 1e-12); /* (3 - 8 + 16) / 8 */
}

int main(void) {
    RUN(the_hilbert_matrix_is_inverted);
    RUN(what_is_not_positive_definite_is_refused);
    RUN(the_forward_solve_gives_the_quadratic_form);
    return check_done();
}
