// What is told while somebody works: it lies over the top of the screen and moves nothing under the finger. The room that it takes is put above
// the screen and scrolled past in the same moment, so that what it covers can be reached, and stays there until the next screen.
import type {JSX} from "preact";
import {useEffect, useLayoutEffect, useRef, useState} from "preact/hooks";

const CHANGED = "russet-bars", FRESH = "russet-fresh-screen";
const bars = new Map<string, JSX.Element>();

/** Shows it among the bars as long as it is not null. */
export function useBar(name: string, bar: JSX.Element | null): void {
    useLayoutEffect(() => {
        if (bar) bars.set(name, bar);
        else if (!bars.delete(name)) return;
        dispatchEvent(new Event(CHANGED));
    });
    useEffect(() => () => {
        if (bars.delete(name)) dispatchEvent(new Event(CHANGED));
    }, [name]);
}

/** A new screen begins: room that no bar needs is given back. */
export const fresh_screen = (): void => void dispatchEvent(new Event(FRESH));

/** A screen that begins with its bar has it above; nobody has a finger on it yet. */
function grow(room: HTMLElement, high: number, begins: boolean): void {
    const below = room.nextElementSibling!, was = below.getBoundingClientRect().top;
    room.style.height = `${high}px`;
    const moved = below.getBoundingClientRect().top - was; // a browser that anchors its scrolling has done it already
    if (begins) scrollTo(0, 0);
    else if (moved) scrollBy(0, moved);
}

/** Of several things that can be taken back the newest is offered: a second bar would only cover more. */
function shown(): [string, JSX.Element][] {
    const all = [...bars], newest = all.filter(([name]) => name.startsWith("undo")).pop();
    return all.filter(one => !one[0].startsWith("undo") || one === newest);
}

/** Stands before the shell. */
export function Bars(): JSX.Element {
    const [, again] = useState(0), over = useRef<HTMLDivElement>(null), room = useRef<HTMLDivElement>(null);
    useLayoutEffect(() => {
        const changed = (): void => again(n => n + 1), high = (): number => over.current!.offsetHeight;
        let begins = false;
        const fresh = (): void => {
            room.current!.style.height = `${high()}px`;
            begins = true;
            requestAnimationFrame(() => requestAnimationFrame(() => begins = false));
        };
        const sizes = new ResizeObserver(() => high() > room.current!.offsetHeight && grow(room.current!, high(), begins));
        sizes.observe(over.current!);
        addEventListener(CHANGED, changed);
        addEventListener(FRESH, fresh);
        return () => {
            sizes.disconnect();
            removeEventListener(CHANGED, changed);
            removeEventListener(FRESH, fresh);
        };
    }, []);
    return <>
        <div ref={over} class="bars" role="status">{shown().map(([name, bar]) => <div key={name}>{bar}</div>)}</div>
        <div ref={room} class="bars-room" aria-hidden="true"/>
    </>;
}
