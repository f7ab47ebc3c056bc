// What this device said last of one thing of the shop (a task, a price, a customer, the zone) can be taken back, also after a reload, and taking
// back can itself be taken back. It is offered as long as nobody has said anything of it since: the thing's `changed` tells.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import {useDoing} from "../shell/ask";
import {useBar} from "../shell/bars";
import {Button} from "../shell/ui";
import {t} from "../words/words";

/** What --unchanged-since says of a thing that nobody has spoken of. */
export const UNSAID = "none";
export const since = (changed: string | null | undefined): string => changed ?? UNSAID;

interface Noted<S> {
    key: string;
    /** What tells that it was said. */
    word: string;
    was: S;
    /** `changed` of it then. */
    now: string;
    back: boolean;
}

export interface Said<S> {
    /** It was said: what stood there before, and when it was changed now. */
    note(key: string, word: string, was: S, changed: string | null): void;
}

/** `changed_of`: of a thing as it is shown now, undefined when it is not shown. `put` turns it into what it was, refused when somebody else was
 *  first, and gives what stood there until then. */
export function useSaid<S>(part: string, changed_of: (key: string) => string | null | undefined, put: (key: string, to: S) => Promise<{was: S; changed: string | null}>,
                           again: () => Promise<void>): Said<S> {
    const place = `done ${part}`, doing = useDoing(), [, shown] = useState(0), told = sessionStorage.getItem(place), done = told ? JSON.parse(told) as Noted<S> : null;
    const keep = (noted: Noted<S>): void => {
        sessionStorage.setItem(place, JSON.stringify(noted));
        shown(n => n + 1);
    };
    const undo = (): void => void doing.go(async () => {
        try {
            const {was, changed} = await put(done!.key, done!.was);
            keep({...done!, was, now: since(changed), back: !done!.back});
        } finally {
            await again();
        }
    });
    const now = done ? changed_of(done.key) : undefined;
    useBar(`undo ${part}`, doing.error ? <div class="kept" role="alert"><span>{doing.error}</span><Button onClick={doing.clear}>{t.seen}</Button></div>
        : done && now !== undefined && since(now) === done.now ? <Offer word={done.back ? t.undone : done.word} busy={doing.busy} undo={undo}/> : null);
    return {note: (key, word, was, changed) => keep({key, word, was, now: since(changed), back: false})};
}

const Offer = ({word, busy, undo}: {word: string; busy: boolean; undo(): void}): JSX.Element =>
    <div class="kept"><span>{word}</span><Button busy={busy} onClick={undo}>{t.undo}</Button></div>;
