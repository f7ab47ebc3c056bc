// Times as the shop's clock shows them, whatever the phone thinks: all that is kept is UTC, and the shop says in which zone it counts its days.
import {t} from "../words/words";

let zone: string | undefined;

/** By the shop's own word; a zone that this browser has no table of leaves the phone's. */
export function tell_by(name: string | null): void {
    try {
        zone = name ? new Intl.DateTimeFormat("en", {timeZone: name}).resolvedOptions().timeZone : undefined;
    } catch {
        zone = undefined;
    }
}

type Part = "year" | "month" | "day" | "hour" | "minute";

function parts_of(time: Date): Record<Part, number> {
    const format = new Intl.DateTimeFormat("en", {year: "numeric", month: "numeric", day: "numeric", hour: "numeric", minute: "numeric", hourCycle: "h23", ...(zone ? {timeZone: zone} : {})});
    return Object.fromEntries(format.formatToParts(time).map(part => [part.type, Number(part.value)])) as Record<Part, number>;
}

const two = (n: number): string => String(n).padStart(2, "0");

/** "26 Nov, 00:41"; with the year when it is another one. */
export function moment(at: string): string {
    const {year, month, day, hour, minute} = parts_of(new Date(at));
    return `${day} ${t.months[month - 1]}${year === parts_of(new Date()).year ? "" : ` ${year}`}, ${two(hour)}:${two(minute)}`;
}

/** A day stays the day that was meant. */
export function day(at: string): string {
    const [year, month, date] = at.slice(0, 10).split("-").map(Number);
    return `${date} ${t.months[(month ?? 1) - 1]} ${year}`;
}

/** The day that it is in the shop: "2026-11-26". */
export function today(): string {
    const {year, month, day} = parts_of(new Date());
    return `${year}-${two(month)}-${two(day)}`;
}
