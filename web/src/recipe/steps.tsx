// The step "recipe": pots to choose from; the one that is taken is logged.
import type {JSX} from "preact";
import type {Ran} from "../api/api";
import {useDraft} from "../colour/draft";
import type {Shelf} from "../colour/shelf";
import {useShelf} from "../colour/shelf";
import {to_step} from "../colour/to_step";
import {reading_of} from "../colour/steps";
import type {Document, Job} from "../job/job";
import {last_of} from "../job/job";
import type {Colour} from "../job/job";
import {useDoing} from "../shell/ask";
import {Button, Deeper, Link, Note, Problem, Told} from "../shell/ui";
import type {StepProps} from "../steps/steps";
import {add_step} from "../steps/steps";
import {t} from "../words/words";
import {Pots} from "./pots";
import type {Match} from "./recipe";
import {hiding, with_chosen} from "./recipe";
import {WishForm} from "./wish";
import "./recipe.css";

export const match_of = (job: Job, colour: Colour | null): Match | null =>
    last_of(job, "recipe", "match", colour)?.document as Match | undefined ?? null;

interface Found {
    match: Match;
    why: string;
    chosen: number;
}

function Fresh({found, target, set, take, busy, error}: {
    found: Found; target: Document; set(found: Found | null): void; take(): void; busy: boolean; error: string | null;
}): JSX.Element {
    if (found.match.recipes.length === 0) return <Problem text={found.why || t.recipe.none}/>;
    return <>
        <Pots match={found.match} target={target} chosen={found.chosen} choose={chosen => set({...found, chosen})}/>
        {!found.match.inside_tolerance && <Note><p>{t.recipe.outside} {found.why}</p></Note>}
        <Problem text={error}/>
        <Button main busy={busy} onClick={take}>{t.recipe.take}</Button>
    </>;
}

function Inside({job, colour, log, next, shelf, target}: StepProps & {shelf: Shelf; target: Document}): JSX.Element {
    const [found, set] = useDraft<Found | null>(`match ${job.id} ${colour?.id ?? ""}`, null), doing = useDoing();
    const logged = match_of(job, colour);
    const got = (ran: Ran<Match>): void => {
        set({match: ran.reply, why: ran.why, chosen: 0});
        scrollTo(0, 0);
    };
    const take = (): Promise<boolean> => doing.go(async () => {
        await log(with_chosen(found!.match, found!.chosen));
        set(null);
        next();
    });
    const wish = <WishForm job={job} colour={colour} target={target} shelf={shelf} last={logged} found={got}/>;
    if (!found && !logged) return <><p>{t.recipe.what}</p>{wish}</>;
    return <>
        {found ? <Fresh found={found} target={target} set={set} take={() => void take()} busy={doing.busy} error={doing.error}/> : <>
            <Pots match={with_chosen(logged!, 0)} target={target} chosen={0}
                choose={chosen => set({match: logged!, why: "", chosen})}/>
            <Button main onClick={next}>{t.recipe.pour}</Button>
        </>}
        <Deeper word={t.recipe.again}>{wish}</Deeper>
    </>;
}

function RecipeScreen(p: StepProps): JSX.Element {
    const shelf = useShelf(), target = reading_of(p.job, p.colour);
    if (!target) return <Note><p>{t.recipe.no_colour}</p><Link class="button" to={to_step(p.job, "colour", p.colour)}>{t.recipe.to_colour}</Link></Note>;
    return <Told asked={shelf}>{shelf.value && (shelf.value.document ? <Inside {...p} shelf={shelf.value} target={target}/>
        : <Note><p>{t.recipe.no_shelf}</p><Link class="button" to={to_step(p.job, "colour", p.colour)}>{t.recipe.to_first_day}</Link></Note>)}</Told>;
}

add_step({
    name: "recipe", of: "colour", screen: RecipeScreen, leads_on: true,
    outcome: (job, colour) => {
        const match = match_of(job, colour), recipe = match?.recipes?.[0];
        return match && recipe ? t.recipe.outcome(recipe.parts.length, hiding(recipe, match)) : null;
    },
});
