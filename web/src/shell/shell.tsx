// What stands around every screen: the places of the bench, and what is still kept on this phone.
import type {ComponentChildren, JSX} from "preact";
import {useEffect, useState} from "preact/hooks";
import {flush, watch_outbox} from "../api/outbox";
import {Bars, useBar} from "./bars";
import {DemoBar, WalkBar} from "../walk/walk";
import {t} from "../words/words";
import {usePlace} from "./place";
import {Button, Link} from "./ui";

const TRY_EVERY_MS = 5000;

const ICONS: Record<keyof typeof t.places, string> = { // paths on a 24 px grid, drawn as lines
    jobs: "M5 4h14v16H5zM9 8h6M9 12h6M9 16h3",
    shelf: "M3 20h18M3 11h18M5 11V6h4v5M11 11V4h3v7M16 11V7h3v4M6 20v-5h4v5M13 20v-6h5v6",
    book: "M12 6c-2-2-5-2-8-2v14c3 0 6 0 8 2 2-2 5-2 8-2V4c-3 0-6 0-8 2zM12 6v14",
    settings: "M4 7h9M17 7h3M4 17h3M11 17h9M13 4v6M7 14v6",
};

export const Icon = ({path}: {path: string}): JSX.Element =>
    <svg class="icon" viewBox="0 0 24 24" aria-hidden="true" focusable="false"><path d={path}/></svg>;

function Places(): JSX.Element {
    const {parts} = usePlace();
    const here = parts[0] === undefined || parts[0] === "job" || parts[0] === "new" ? "jobs" : parts[0];
    return <nav class="places" aria-label={t.places_label}>
        {(Object.keys(ICONS) as (keyof typeof ICONS)[]).map(name =>
            <Link key={name} to={name === "jobs" ? "/" : `/${name}`} aria-current={here === name ? "page" : undefined}>
                <Icon path={ICONS[name]}/><span>{t.places[name]}</span>
            </Link>)}
    </nav>;
}

export function Kept(): null {
    const [kept, set_kept] = useState(0);
    const [busy, set_busy] = useState(false);
    const send = async (): Promise<void> => {
        set_busy(true);
        if (await flush()) dispatchEvent(new Event("russet-sent"));
        set_busy(false);
    };
    useEffect(() => watch_outbox(set_kept), []);
    useEffect(() => {
        if (!kept) return;
        const again = (): void => void send();
        const clock = setInterval(again, TRY_EVERY_MS);
        addEventListener("online", again);
        return () => {
            clearInterval(clock);
            removeEventListener("online", again);
        };
    }, [kept > 0]);
    useBar("kept", kept > 0 ? <div class="kept">
        <span>{t.queue.waiting(kept)}</span><Button busy={busy} onClick={() => void send()}>{t.try_again}</Button>
    </div> : null);
    return null;
}

export function Shell({in_demo, children}: {in_demo: boolean; children: ComponentChildren}): JSX.Element {
    return <>
        <Bars/>
        <div class="shell">
            <a class="skip" href="#work">{t.skip}</a>
            <Places/>
            <div class="ground-of-work"><Kept/>{in_demo && <DemoBar/>}<WalkBar/>{children}</div>
        </div>
    </>;
}
