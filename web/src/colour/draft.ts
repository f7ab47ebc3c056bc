// What was begun on this device and is not in the book yet: it outlives a reload, not the device.
import {useCallback, useState} from "preact/hooks";

function stored<T>(key: string): T | null {
    try {
        const text = localStorage.getItem(key);
        return text === null ? null : JSON.parse(text) as T;
    } catch {
        return null;
    }
}

export function keep_draft(key: string, value: unknown): void {
    try {
        if (value === null) localStorage.removeItem(key);
        else localStorage.setItem(key, JSON.stringify(value));
    } catch { /* full or not allowed: it lasts as long as the page */ }
}

/** As useState, kept under a name. set(null as T) forgets it. */
export function useDraft<T>(key: string, initial: T): [T, (value: T) => void] {
    const name = `russet ${key}`;
    const [state, set] = useState<{name: string; value: T}>(() => ({name, value: stored<T>(name) ?? initial}));
    const value = state.name === name ? state.value : stored<T>(name) ?? initial;
    return [value, useCallback((next: T) => {
        keep_draft(name, next);
        set({name, value: next ?? initial});
    }, [name])];
}
