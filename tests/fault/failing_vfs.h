/* A disk under SQLite that fails when it is told to: wraps the machine's own VFS and becomes the default.
 * Every write, sync, truncation, creation and deletion of a file is one operation. */
#ifndef RUSSET_TESTS_FAILING_VFS_H
#define RUSSET_TESTS_FAILING_VFS_H

enum failing_how {
    FAIL_FULL, /* ENOSPC: the write took nothing */
    FAIL_HALF, /* ENOSPC: half of the write is on the disk */
    FAIL_IO,   /* EIO */
};

void failing_vfs_install(void);
/* The n-th operation from now fails (1 is the next); lasting: and all after it. 0: none. */
void failing_vfs_arm(long n, enum failing_how how, int lasting);
long failing_vfs_count(void); /* operations since it was armed */
int failing_vfs_has_failed(void);

#endif
