// The shop's shelf, as recipes are made from it.
import {run} from "../api/api";
import type {Document} from "../job/job";
import type {Asked} from "../shell/ask";
import {useAsked} from "../shell/ask";

interface ShelfReply {
    shelf: string | null;
    toners: {id: string; name: string; left_g: number; lots: unknown[]}[];
    toners_document?: Document | null;
}

export interface Shelf {
    /** null: nothing is on the shelf yet. */
    document: Document | null;
    /** As `match --stock` takes it; toners without a lot in the book are not counted. */
    stock: Document;
    names: Record<string, string>;
}

async function load(): Promise<Shelf> {
    const {reply} = await run<ShelfReply>("shelf show", {"--toners": true});
    const on_shelf = Object.keys((reply.toners_document?.["toners"] as object | undefined) ?? {});
    const counted = reply.toners.filter(toner => toner.lots.length > 0 && on_shelf.includes(toner.id));
    return {
        document: reply.toners_document ?? null,
        stock: {stock: Object.fromEntries(counted.map(toner => [toner.id, toner.left_g]))},
        names: Object.fromEntries(reply.toners.map(toner => [toner.id, toner.name])),
    };
}

export const useShelf = (): Asked<Shelf> => useAsked(load, "shelf");
