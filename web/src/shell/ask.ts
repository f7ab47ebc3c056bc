// What a screen waits for: the three states that every one of them designs (waiting, failed, full).
import {useCallback, useEffect, useRef, useState} from "preact/hooks";
import {OutOfReach, Refused} from "../api/api";
import {t} from "../words/words";

/** Sentences of the program without what is about its command line: the option's name before them, and those behind the first; files that the
 *  page itself has named are called what they are. */
export const of_the_page = (text: string): string =>
    text.replace(/^--[a-z-]+: /, "").replace(/^([a-z]+\.json): /, (all, name: string) => t.files[name] ? `${t.files[name]}: ` : all).replace(/ \(russet [a-z ]+\)/g, "").replace(/ \(--[a-z-]+[^)]*\)/g, "").replace(/^([^.;]*): russet .*$/s, "$1.").split(/(?<=[.;])\s+/).filter((part, at) => at === 0 || !/(^|\s)--[a-z]|russet [a-z]/.test(part)).join(" ").replace(/;$/, ".");

export const sentence_of = (error: unknown): string =>
    error instanceof OutOfReach ? t.out_of_reach : error instanceof Refused && error.message ? t.refusals[error.id] ?? of_the_page(error.message) : t.went_wrong;

export interface Asked<T> {
    value: T | null;
    error: string | null;
    waiting: boolean;
    again(): Promise<void>;
}

/** Asks when the screen opens and when `key` changes; again() keeps what is shown until the new answer is there, and so does another key when
 *  `keeping`. */
export function useAsked<T>(ask: () => Promise<T>, key: unknown, keeping = false): Asked<T> {
    const [state, set] = useState<{value: T | null; error: string | null; waiting: boolean}>(
        {value: null, error: null, waiting: true});
    const latest = useRef(0), latest_ask = useRef(ask);
    latest_ask.current = ask;
    const again = useCallback(async () => {
        const turn = ++latest.current;
        set(now => ({...now, waiting: true, error: null}));
        try {
            const value = await latest_ask.current();
            if (turn === latest.current) set({value, error: null, waiting: false});
        } catch (error) {
            if (turn === latest.current) set(now => ({...now, error: sentence_of(error), waiting: false}));
        }
    }, []);
    useEffect(() => {
        set(now => ({value: keeping ? now.value : null, error: null, waiting: true}));
        void again();
        return () => void latest.current++;
    }, [key]);
    return {...state, again};
}

export interface Doing {
    busy: boolean;
    error: string | null;
    /** Runs it; while it runs buttons wait, and a refusal becomes `error`. True when it went through. */
    go(work: () => Promise<void>): Promise<boolean>;
    clear(): void;
}

export function useDoing(): Doing {
    const [busy, set_busy] = useState(false);
    const [error, set_error] = useState<string | null>(null);
    const running = useRef(false);
    const go = useCallback(async (work: () => Promise<void>) => {
        if (running.current) return false;
        running.current = true;
        set_busy(true);
        set_error(null);
        try {
            await work();
            return true;
        } catch (caught) {
            set_error(sentence_of(caught));
            return false;
        } finally {
            running.current = false;
            set_busy(false);
        }
    }, []);
    return {busy, error, go, clear: () => set_error(null)};
}
