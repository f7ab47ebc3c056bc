/* russet-decode: one photograph in, linear light out (docs/pictures.md). It is started by russet with three
 * open files (formats/picture_wire.h); nobody runs it by hand. */
#include "decode/decode.h"
#include "decode/fence.h"
#include <stdio.h>
#include <sys/mman.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <unistd.h>

static enum wire_refusal work(struct sink *sink) {
    struct stat info;
    if (fstat(WIRE_FILE_FD, &info) != 0 || info.st_size <= 0) return WIRE_REFUSED_DAMAGED;
    const size_t size = (size_t)info.st_size;
    if (!fence_limits(size)) return WIRE_REFUSED_NO_FENCE;
    const void *data = mmap(NULL, size, PROT_READ, MAP_PRIVATE, WIRE_FILE_FD, 0);
    if (data == MAP_FAILED) return WIRE_REFUSED_MEMORY;
    decode_prepare(data, size);
    if (!fence_close()) return WIRE_REFUSED_NO_FENCE;
    return decode_any(data, size, sink);
}

int main(void) {
    struct sink sink;
    int kind = 0;
    socklen_t n = sizeof kind;
    if (getsockopt(WIRE_SOCKET_FD, SOL_SOCKET, SO_TYPE, &kind, &n) != 0 || kind != SOCK_SEQPACKET) {
        fprintf(stderr, "russet-decode: is started by russet.\n");
        return 2;
    }
    enum wire_refusal refusal = WIRE_REFUSED_MEMORY;
    if (sink_to_wire(&sink, WIRE_SOCKET_FD, WIRE_MEMORY_FD)) refusal = work(&sink);
    sink_say(&sink, refusal == WIRE_REFUSED_NOTHING ? WIRE_DONE : WIRE_REFUSED, refusal);
    _exit(0);
}
