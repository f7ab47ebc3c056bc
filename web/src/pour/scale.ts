// The scale at the bench's own port, when there is one: GET /api/scale, server-sent events `reading` {g, step_g, still} (still: null
// when this scale does not say whether it is) and `state` {state}.
import {useEffect, useRef, useState} from "preact/hooks";

export interface ScaleReading {
    g: number;
    step_g: number;
    /** null: it does not say; its numbers tell. */
    still: boolean | null;
}

export type Trouble = "overload" | "underload" | "trouble" | "no mass" | "unread";

export type Scale = {state: "none"} | {state: "there" | "lost"; reading: ScaleReading} | {state: "trouble"; trouble: Trouble};

/** A line that drops is opened again by the browser; so long it may be gone before the reading is typed instead. */
const LOST_MS = 3000;

interface Sent {
    g: number | null;
    step_g?: number;
    still?: boolean | null;
}

export function useScale(): Scale {
    const [scale, set] = useState<Scale>({state: "none"});
    const last = useRef<ScaleReading | null>(null);
    useEffect(() => {
        let silence = 0;
        const source = new EventSource("/api/scale");
        source.addEventListener("reading", event => {
            const sent = JSON.parse((event as MessageEvent<string>).data) as Sent;
            if (typeof sent.g !== "number" || !Number.isFinite(sent.g)) return;
            last.current = {g: sent.g, step_g: sent.step_g ?? 0, still: sent.still ?? null};
            clearTimeout(silence);
            silence = 0;
            set({state: "there", reading: last.current});
        });
        source.addEventListener("state", event => {
            const {state} = JSON.parse((event as MessageEvent<string>).data) as {state: string};
            if (state === "gone") return void (last.current && set({state: "lost", reading: last.current}));
            if (state !== "here") set({state: "trouble", trouble: state as Trouble});
        });
        source.onerror = () => { // not there at all: readings are typed; gone: it comes back by itself
            if (last.current && !silence) silence = setTimeout(() => set({state: "lost", reading: last.current!}), LOST_MS) as unknown as number;
        };
        return () => (clearTimeout(silence), source.close());
    }, []);
    return scale;
}

/** Keeps the screen on while it is true. */
export function useWakeLock(on: boolean): boolean {
    const [held, set] = useState(false);
    useEffect(() => {
        if (!on || !("wakeLock" in navigator)) return;
        let lock: WakeLockSentinel | null = null, over = false;
        const ask = async (): Promise<void> => {
            if (document.visibilityState !== "visible") return;
            try {
                const got = await navigator.wakeLock.request("screen");
                if (over) return void got.release();
                lock = got;
                set(true);
                got.addEventListener("release", () => set(false));
            } catch { /* not allowed, or little battery left */ }
        };
        const seen = (): void => void ask();
        void ask();
        document.addEventListener("visibilitychange", seen);
        return () => {
            over = true;
            document.removeEventListener("visibilitychange", seen);
            void lock?.release();
        };
    }, [on]);
    return held;
}
