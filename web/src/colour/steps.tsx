// The step "colour": a reading of what the repair will border.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import type {Document, Job} from "../job/job";
import {last_of} from "../job/job";
import type {Colour} from "../job/job";
import {useDoing} from "../shell/ask";
import {moment} from "../shell/time";
import {Button, Deeper, Field, Problem} from "../shell/ui";
import type {StepProps} from "../steps/steps";
import {add_step} from "../steps/steps";
import {t} from "../words/words";
import {useDraft} from "./draft";
import {FirstDayWalk, useFirstDay} from "./first_day";
import {ReadingView, sureness} from "./reading_view";
import {useShelf} from "./shelf";
import {ReadingWays} from "./ways";

/** The reading that counts: the newest. */
export const reading_of = (job: Job, colour: Colour | null): Document | null =>
    last_of(job, "colour", "reading", colour)?.document ?? null;

interface KeepProps {
    reading: Document;
    busy: boolean;
    error: string | null;
    keep(words: string): void;
    drop(): void;
}

function KeepReading({reading, busy, error, keep, drop}: KeepProps): JSX.Element {
    const [words, set] = useDraft(`where ${JSON.stringify(reading["lab"])}`, "");
    return <section aria-label={t.colour.fresh}>
        <ReadingView document={reading}/>
        <Field label={t.colour.where} hint={t.colour.where_hint} value={words} set={set} list={t.colour.places}/>
        <Problem text={error}/>
        <Button main busy={busy} onClick={() => keep(words)}>{t.colour.keep}</Button>
        <Button quiet onClick={drop}>{t.colour.drop}</Button>
    </section>;
}

function ColourScreen({job, colour, entries, log, next}: StepProps): JSX.Element {
    const [fresh, set_fresh] = useDraft<Document | null>(`reading ${job.id} ${colour?.id ?? ""}`, null);
    const [photos, set_photos] = useState<Blob[]>([]);
    const shelf = useShelf(), [day, set_day] = useFirstDay(), doing = useDoing();
    const kept = entries.filter(entry => entry.kind === "reading").pop() ?? null;
    const got = (reading: Document, from: Blob[]): void => {
        set_photos(from);
        set_fresh(reading);
        scrollTo(0, 0);
    };
    if (fresh) return <KeepReading reading={fresh} busy={doing.busy} error={doing.error} drop={() => set_fresh(null)}
        keep={words => void doing.go(async () => {
            await log(fresh, {note: words, photos});
            set_fresh(null);
        })}/>;
    const ways = <>
        <ReadingWays ways={["instrument", "photo", "lab"]} label={t.colour.how} got={got} toners={shelf.value?.document ?? null} today={day.dabs}/>
        <Deeper word={t.first_day.title} open={!!day.shelf && !kept}><FirstDayWalk day={day} set={set_day} kept={shelf.again}/></Deeper>
    </>;
    if (!kept) return <><p>{t.colour.what}</p>{ways}</>;
    return <>
        <ReadingView document={kept.document}/>
        <p class="hint">{[kept.words, moment(kept.at)].filter(Boolean).join(" · ")}</p>
        <Button main onClick={next}>{t.colour.onward}</Button>
        <Deeper word={t.colour.again}>{ways}</Deeper>
    </>;
}

add_step({
    name: "colour", of: "colour", screen: ColourScreen, leads_on: true,
    outcome: (job, colour) => {
        const reading = reading_of(job, colour);
        return reading ? sureness(reading) : null;
    },
});
