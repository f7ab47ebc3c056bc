// Photographs of a step: taken or chosen, sent at once, one by one. Each is an entry of its own, so a lost connection
// costs none of the others, and each can be taken out by itself.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import {OutOfReach, photo_address} from "../api/api";
import type {Entry, StepName} from "../job/job";
import {taken_back} from "../job/job";
import type {StepProps} from "../steps/steps";
import {t} from "../words/words";
import {useDoing} from "./ask";
import {FileButton, Problem} from "./ui";

export function Photo({sha256, alt, instead}: {sha256: string; alt: string; /** What stands there when it cannot be shown. */ instead?: string}): JSX.Element {
    const [unseen, set_unseen] = useState(false);
    return unseen ? <span class="unseen">{instead ?? t.photos.not_shown}</span>
        : <img src={photo_address(sha256, 320)} alt={alt} loading="lazy" onError={() => set_unseen(true)}/>;
}

const PICTURES = "image/*,.dng,.heic,.tif,.tiff";

interface PhotosProps {
    step: StepName;
    entries: Entry[];
    log: StepProps["log"];
    piece?: string | null;
}

export function Photos({step, entries, log, piece}: PhotosProps): JSX.Element {
    const [sending, set_sending] = useState<[number, number] | null>(null), [part, set_part] = useState(0);
    const doing = useDoing();
    const shown = entries.filter(entry => entry.photographs.length > 0);
    const send = (files: File[]): void => void doing.go(async () => {
        let out_of_reach: unknown = null;
        for (const [at, file] of files.entries()) {
            set_sending([at + 1, files.length]);
            set_part(0);
            try {
                await log(null, {step, piece: piece ?? null, photos: [file], told: set_part});
            } catch (error) { // kept on the phone; the others are to be kept too
                if (!(error instanceof OutOfReach)) throw error;
                out_of_reach = error;
            }
        }
        if (out_of_reach) throw out_of_reach;
    }).finally(() => set_sending(null));
    const take_out = (entry: Entry): void => void doing.go(() => log(taken_back(), {step, piece: entry.piece, colour: entry.colour, replaces: entry.id}));
    return <section aria-label={t.photos.title}>
        {shown.length > 0 && <div class="photos">
            {shown.flatMap(entry => entry.photographs.map((sha256, at) => <figure key={entry.id + sha256}>
                <a href={photo_address(sha256, 1600)} target="_blank" rel="noopener"><Photo sha256={sha256} alt={t.look.photo_of(t.step[step])}/></a>
                {at === 0 && entry.kind === "photograph" && <button type="button" class="quiet" disabled={doing.busy} aria-label={t.photos.sure}
                    onClick={() => take_out(entry)}>{t.remove}</button>}
            </figure>))}
        </div>}
        {shown.length === 0 && <p class="hint">{t.photos.none}</p>}
        <p role="status" class="waiting">{sending && <><progress value={part} max={1} aria-label={t.photos.sending(...sending)}/> {t.photos.sending(...sending)}</>}</p>
        <Problem text={doing.error}/>
        <div class="row">
            <FileButton word={t.photos.take} accept={PICTURES} camera chosen={send} busy={doing.busy}/>
            <FileButton word={t.photos.choose} accept={PICTURES} many chosen={send} busy={doing.busy}/>
        </div>
    </section>;
}
