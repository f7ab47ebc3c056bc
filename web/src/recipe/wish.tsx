// What is asked of a recipe: how much, over what, and how thick.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import type {Files} from "../api/api";
import type {Asked} from "../api/operations";
import {run_watched} from "../api/api";
import type {Ran} from "../api/api";
import {ChooseFiles, files_of} from "../colour/choose_files";
import {argument_of, number_of} from "../colour/numbers";
import type {Shelf} from "../colour/shelf";
import type {Colour, Document, Job} from "../job/job";
import {useDoing} from "../shell/ask";
import {Button, Choice, Deeper, Field, Form, Many, Problem} from "../shell/ui";
import {t} from "../words/words";
import {HowMuch} from "./how_much";
import type {Match} from "./recipe";

type Under = "hides" | "same" | "file";

interface Props {
    job: Job;
    colour: Colour | null;
    target: Document;
    shelf: Shelf;
    last: Match | null;
    found(ran: Ran<Match>): void;
}

interface Wish {
    batch: string;
    under: Under;
    film: string;
    coat: string;
    sheen: string;
    binder: string;
    tolerance: string;
    exclude: string[];
    stock: boolean;
}

const wish_of = (last: Match | null): Wish => ({
    batch: String(last?.bench["batch_g"] ?? 60), under: last?.bench["backings"]?.length ? "same" : "hides",
    film: String(last?.bench["film_um"] ?? ""), coat: String(last?.bench["coat_um"] ?? 6), sheen: String(last?.bench["sheen_gu"] ?? ""),
    binder: "", tolerance: String(last?.tolerance_de00 ?? 1), exclude: [], stock: true,
});

const ground = (reflectance: number[], geometry: string): Document =>
    ({kind: "reading", format: 1, id: "ground", geometry, reflectance});

async function put_grounds(wish: Wish, p: Props, chosen: readonly File[], files: Files): Promise<string[]> {
    if (wish.under === "file") return files_of(chosen, files);
    if (wish.under !== "same" || !p.last) return [];
    const geometry = String(p.last.bench["reading_geometry"] ?? p.last.bench["geometry"]);
    return (p.last.bench["backings"] as number[][]).map((reflectance, i) => {
        files[`ground-${i + 1}.json`] = {document: ground(reflectance, geometry)};
        return `ground-${i + 1}.json`;
    });
}

async function match(wish: Wish, p: Props, chosen: readonly File[], progress: (done: number) => void): Promise<Ran<Match>> {
    const files: Files = {"toners.json": {document: p.shelf.document}, "target.json": {document: p.target}};
    const args: Asked["match"] = {
        "--toners": "toners.json", "--target": "target.json", "--top": 5, "--batch-g": number_of(wish.batch) ?? 60,
        "--coat-um": argument_of(wish.coat), "--sheen-gu": argument_of(wish.sheen), "--tolerance": argument_of(wish.tolerance),
        "--binder-fraction": number_of(wish.binder) === null ? undefined : Number((number_of(wish.binder)! / 100).toFixed(6)),
        "--exclude": wish.exclude.join(",") || undefined,
    };
    const grounds = await put_grounds(wish, p, chosen, files);
    if (grounds.length) args["--backing"] = grounds, args["--film-um"] = argument_of(wish.film);
    if (wish.stock && Object.keys(p.shelf.stock["stock"]).length) {
        files["stock.json"] = {document: p.shelf.stock};
        args["--stock"] = "stock.json";
    }
    return run_watched<Match>(["match", args, files], progress);
}

export function WishForm(p: Props): JSX.Element {
    const [wish, set_wish] = useState<Wish>(() => wish_of(p.last)), [grounds, set_grounds] = useState<File[]>([]);
    const [done, set_done] = useState<number | null>(null), doing = useDoing();
    const set = (change: Partial<Wish>): void => set_wish({...wish, ...change});
    const find = (): Promise<boolean> => doing.go(async () => {
        set_done(0);
        try {
            p.found(await match(wish, p, grounds, set_done));
        } finally {
            set_done(null);
        }
    });
    const unders = (["hides", "same", "file"] as const).filter(one => one !== "same" || p.last?.bench["backings"]?.length);
    return <Form send={() => void find()}>
        <Field label={t.recipe.batch} unit="g" mode="decimal" value={wish.batch} set={batch => set({batch})} hint={t.recipe.batch_hint}/>
        <HowMuch job={p.job} colour={p.colour} film={wish.film} take={batch => set({batch})}/>
        <Choice label={t.recipe.under} value={wish.under} set={under => set({under})} from={unders.map(value => ({value, ...t.recipe.unders[value]}))}/>
        {wish.under === "file" && <ChooseFiles label={t.recipe.ground_file} hint={t.recipe.ground_hint}
            accept=".txt,.cgats,.cxf,.xml,.csv,.json" many files={grounds} set={set_grounds}/>}
        {wish.under !== "hides" && <Field label={t.recipe.film} unit="µm" mode="decimal" value={wish.film} set={film => set({film})} hint={t.recipe.film_hint}/>}
        <Deeper word={t.recipe.more_wishes}>
            <Field label={t.recipe.coat} unit="µm" mode="decimal" value={wish.coat} set={coat => set({coat})} hint={t.recipe.coat_hint}/>
            <Field label={t.recipe.sheen} unit="GU, 60°" mode="decimal" value={wish.sheen} set={sheen => set({sheen})} hint={t.recipe.sheen_hint}/>
            <Field label={t.recipe.binder} unit="%" mode="decimal" value={wish.binder} set={binder => set({binder})} hint={t.recipe.binder_hint}/>
            <Field label={t.recipe.tolerance} unit="dE00" mode="decimal" value={wish.tolerance} set={tolerance => set({tolerance})}/>
            <Many label={t.recipe.without} value={wish.exclude} set={exclude => set({exclude})}
                from={Object.entries(p.shelf.names).map(([value, word]) => ({value, word}))}/>
            <Many label={t.recipe.stock} value={wish.stock ? ["stock"] : []} set={on => set({stock: on.length > 0})}
                from={[{value: "stock", word: t.recipe.stock_only}]}/>
        </Deeper>
        <Problem text={doing.error}/>
        {done !== null && <progress aria-label={t.recipe.searching} value={done || undefined} max={1}/>}
        <Button submit main busy={doing.busy} disabled={(number_of(wish.batch) ?? 0) <= 0}>{t.recipe.find}</Button>
    </Form>;
}
