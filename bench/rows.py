"""What every bench hands in: rows of tab-separated text, appended to the file that BENCH_ROWS names (bench/all makes the table of them), and
told on the terminal. bench.h says the same in C."""
import os


def row(what, size, ours_ms, peer, peer_ms, quality, memory_mib):
    beside = f"{peer} {peer_ms:.1f} ms, {peer_ms / ours_ms:.1f} times; " if peer else ""
    print(f"{what} ({size:g}): russet {ours_ms:.1f} ms; {beside}{quality}; {memory_mib:.0f} MiB")
    if "BENCH_ROWS" in os.environ:
        with open(os.environ["BENCH_ROWS"], "a") as out:
            out.write(f"{what}\t{size:g}\t{ours_ms:.6g}\t{peer}\t{peer_ms:.6g}\t{quality}\t{memory_mib:.1f}\n")
