// The pot that is corrected. What is in it is the book's to say (`job show`, pots): pours and additions of every door are counted there once.
import type {Colour, Entry, Job, Weighed} from "../job/job";
import {pour_of} from "../pour/steps";

export interface CorrectedPot {
    id: string;
    /** As `adjust --pot` takes it. */
    parts: Record<string, number>;
    total_g: number;
    poured: Entry;
    /** What went in after the first pour, newest last. */
    added: {at: string; parts: Weighed[]}[];
    taken_g: number;
}

export function corrected_pot(job: Job, colour: Colour | null): CorrectedPot | null {
    const poured = pour_of(job, colour), pot = job.pots.find(one => one.entry === poured?.id && !one.emptied);
    if (!poured || !pot) return null;
    const spent = job.entries.filter(entry => entry.step === "dabs" && entry.at > poured.at && (!colour || !entry.colour || entry.colour === colour.id))
        .reduce((sum, entry) => Math.max(sum, Number(entry.document["taken_g"] ?? 0)), 0);
    return {id: pot.id, parts: Object.fromEntries(pot.parts.map(({toner, g}) => [toner, g])), total_g: pot.poured_g, poured, added: pot.additions,
        taken_g: Math.max(spent, pot.taken_g)};
}

export const parts_argument = (parts: Record<string, number>): string =>
    Object.entries(parts).filter(([, g]) => g > 0).map(([toner, g]) => `${toner}=${g}`).join(",");
