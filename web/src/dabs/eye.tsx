// By eye: what the dab should become, in words, and by how much.
import type {JSX} from "preact";
import {useState} from "preact/hooks";
import {Button, Choice} from "../shell/ui";
import {t} from "../words/words";

const PAIRS = [["lighter", "darker"], ["redder", "greener"], ["yellower", "bluer"], ["cleaner", "dirtier"]] as const;
export type EyeWord = typeof PAIRS[number][number];
type Size = "1" | "2" | "3";
export type Said = Partial<Record<EyeWord, Size>>;

export const eye_argument = (said: Said): string =>
    (Object.entries(said) as [EyeWord, Size][]).map(([word, size]) => `${word} ${size}`).join(", ");

export function ByEye({said, set}: {said: Said; set(said: Said): void}): JSX.Element {
    const [open, set_open] = useState<EyeWord | null>(null);
    const press = (word: EyeWord, other: EyeWord): void => {
        const {[word]: mine, [other]: _, ...rest} = said;
        set(mine ? rest : {...rest, [word]: "1"});
        set_open(mine ? null : word);
    };
    return <div class="eye">
        <p>{t.dabs.eye_what}</p>
        {PAIRS.map(([a, b]) => {
            const chosen = said[a] ? a : said[b] ? b : null;
            return <div key={a} class="eye-pair" role="group" aria-label={t.dabs.either(t.dabs.eye[a], t.dabs.eye[b])}>
                <div class="pair">
                    <Button pressed={chosen === a} onClick={() => press(a, b)}>{t.dabs.eye[a]}</Button>
                    <Button pressed={chosen === b} onClick={() => press(b, a)}>{t.dabs.eye[b]}</Button>
                </div>
                {chosen && (open === chosen || said[chosen]) && <Choice<Size> label={t.dabs.how_much(t.dabs.eye[chosen])} value={said[chosen]!}
                    set={size => set({...said, [chosen]: size})} from={(["1", "2", "3"] as const).map(value => ({value, word: t.dabs.sizes[value]}))}/>}
            </div>;
        })}
    </div>;
}
