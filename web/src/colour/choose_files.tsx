// Choosing files, and their names as an operation may see them.
import type {JSX} from "preact";
import {useId} from "preact/hooks";
import type {Files} from "../api/api";
import {file_of, name_of, upload} from "../api/api";
import {t} from "../words/words";

interface Props {
    label: string;
    hint?: string;
    accept: string;
    many?: boolean;
    files: readonly File[];
    set(files: File[]): void;
}

export function ChooseFiles({label, hint, accept, many, files, set}: Props): JSX.Element {
    const id = useId();
    return <div class="field choose-files">
        <label for={id}>{label}</label>
        {hint && <p class="hint" id={`${id}-hint`}>{hint}</p>}
        <input id={id} type="file" accept={accept} multiple={many} aria-describedby={hint ? `${id}-hint` : undefined}
            onChange={event => set([...event.currentTarget.files ?? []])}/>
        {files.length > 1 && <p class="hint">{t.files_chosen(files.length)}</p>}
    </div>;
}

const is_picture = (file: File): boolean => file.type.startsWith("image/") || /\.(dng|heic|heif|tiff?|cr2|nef|arw|raf|orf|rw2)$/i.test(file.name);

export async function files_of(chosen: readonly File[], into: Files): Promise<string[]> {
    const names: string[] = [];
    for (const file of chosen) {
        const name = name_of(file, into);
        into[name] = is_picture(file) ? await upload(file) : await file_of(file);
        names.push(name);
    }
    return names;
}
