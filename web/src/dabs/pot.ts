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

/** What is at hand of a colour: its pots that were poured since that entry (its newest recipe) and are neither emptied, put away nor hardened. */
export function pots_at_hand(job: Job, colour: Colour | null, since: string): {g: number; parts: Weighed[]} | null {
    const pots = job.pots.filter(one => !one.emptied && !one.put_back && !one.taken_back && !one.life_over && one.at >= since && (!colour || !one.colour || one.colour === colour.id));
    const newest = corrected_pot(job, colour), g = pots.reduce((sum, pot) => sum + pot.poured_g - (pot.id === newest?.id ? newest.taken_g : pot.taken_g), 0);
    return pots.length && g > 0 ? {g, parts: pots.flatMap(pot => pot.parts)} : null;
}

export const parts_argument = (parts: Record<string, number>): string =>
    Object.entries(parts).filter(([, g]) => g > 0).map(([toner, g]) => `${toner}=${g}`).join(",");
