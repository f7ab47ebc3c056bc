// Where the page is: the path of its address. /job/2/colour?colour=... survives a reload and can be sent to the other phone.
import {useEffect, useState} from "preact/hooks";

export interface Place {
    parts: string[];
    query: URLSearchParams;
}

const MOVED = "russet-moved";

const here = (): Place => ({
    parts: location.pathname.split("/").filter(Boolean).map(decodeURIComponent), query: new URLSearchParams(location.search),
});

export function go(path: string, replace = false): void {
    if (replace) history.replaceState(null, "", path);
    else history.pushState(null, "", path);
    dispatchEvent(new Event(MOVED));
}

export function usePlace(): Place {
    const [place, set] = useState(here);
    useEffect(() => {
        const moved = (): void => set(here());
        addEventListener("popstate", moved);
        addEventListener(MOVED, moved);
        return () => {
            removeEventListener("popstate", moved);
            removeEventListener(MOVED, moved);
        };
    }, []);
    return place;
}
