// What was typed and not sent yet survives a reload: it is kept in the tab until it was sent.
import {useState} from "preact/hooks";

export function useDraft<T extends object>(name: string, empty: T): [T, (value: T) => void, () => void] {
    const key = `draft ${name}`;
    const [value, set] = useState<T>(() => {
        try {
            return {...empty, ...JSON.parse(sessionStorage.getItem(key) ?? "{}") as Partial<T>};
        } catch {
            return empty;
        }
    });
    const keep = (next: T): void => {
        set(next);
        try {
            sessionStorage.setItem(key, JSON.stringify(next));
        } catch { /* a full store costs the draft's safety, not the draft */ }
    };
    const forget = (): void => {
        sessionStorage.removeItem(key);
        set(empty);
    };
    return [value, keep, forget];
}
