// The pot that is corrected: what was weighed in, with what was added since, and what has left it.
import type {Entry, Job} from "../job/job";
import type {Colour} from "../job/job";
import {pour_of} from "../pour/steps";

export interface CorrectedPot {
    id: string | null;
    /** As `adjust --pot` takes it. */
    parts: Record<string, number>;
    total_g: number;
    poured: Entry;
    /** Additions that went in, newest last. */
    added: Entry[];
    taken_g: number;
}

export const was_poured = (entry: Entry): boolean => entry.document["poured_in"] === true;

/** All that was weighed in since the pot was begun. */
function sum_parts(poured: Entry, added: Entry[]): Record<string, number> {
    const parts: Record<string, number> = {};
    const add = (list: {toner: string; g: number}[]): void => {
        for (const {toner, g} of list) parts[toner] = Number(((parts[toner] ?? 0) + g).toFixed(4));
    };
    add(poured.document["poured"]);
    for (const entry of added) add(entry.document["additions"]);
    return parts;
}

export function corrected_pot(job: Job, colour: Colour | null): CorrectedPot | null {
    const poured = pour_of(job, colour);
    if (!poured) return null;
    const mine = (entry: Entry): boolean => entry.at > poured.at && (!colour || !entry.colour || entry.colour === colour.id);
    const added = job.entries.filter(entry => entry.step === "dabs" && mine(entry) && was_poured(entry));
    const parts = sum_parts(poured, added), total_g = Object.values(parts).reduce((a, b) => a + b, 0);
    const pots = job.pots.filter(pot => !pot["emptied"] && pot["at"] >= poured.at);
    const pot = pots.sort((a, b) => String(a["at"]).localeCompare(String(b["at"])))[0] ?? null;
    const spent = job.entries.filter(entry => entry.step === "dabs" && mine(entry))
        .reduce((sum, entry) => Math.max(sum, Number(entry.document["taken_g"] ?? 0)), 0);
    return {id: pot?.id ?? null, parts, total_g, poured, added, taken_g: Math.max(spent, Number(pot?.["taken_g"] ?? 0))};
}

export const parts_argument = (parts: Record<string, number>): string =>
    Object.entries(parts).filter(([, g]) => g > 0).map(([toner, g]) => `${toner}=${g}`).join(",");

