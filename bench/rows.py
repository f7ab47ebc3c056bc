"""What every bench hands in: rows of tab-separated text, appended to the file that BENCH_ROWS names (bench/all makes the table of them), and
told on the terminal. bench.h says the same in C."""
import os, subprocess, sys, time


def row(what, size, ours_ms, peer, peer_ms, quality, memory_mib):
    beside = f"{peer} {peer_ms:.1f} ms, {peer_ms / ours_ms:.1f} times; " if peer else ""
    print(f"{what} ({size:g}): russet {ours_ms:.1f} ms; {beside}{quality}; {memory_mib:.0f} MiB")
    if "BENCH_ROWS" in os.environ:
        with open(os.environ["BENCH_ROWS"], "a") as out:
            out.write(f"{what}\t{size:g}\t{ours_ms:.6g}\t{peer}\t{peer_ms:.6g}\t{quality}\t{memory_mib:.1f}\n")


# A program's most memory begins with its parent's, so it is started by a small one.
LAUNCH = """import os, sys
_, code, used = os.wait4(os.spawnv(os.P_NOWAIT, sys.argv[1], sys.argv[1:]), 0)
print(used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, file=sys.stderr)
sys.exit(os.waitstatus_to_exitcode(code))"""


def launch(command):
    """What it printed, seconds by the clock, seconds of CPU (all threads), the most memory (MiB)."""
    begun = time.perf_counter()
    done = subprocess.run([sys.executable, "-SEc", LAUNCH, *command], capture_output=True, check=False)
    took, said = time.perf_counter() - begun, done.stderr.decode().splitlines()
    if done.returncode > 1:
        sys.exit("\n".join(said))
    seconds, memory = map(float, said[-1].split())
    return done.stdout, took, seconds, memory
