// The few things that all screens are made of. Targets are 48 px and more, state is told by words and shape.
import type {ComponentChildren, JSX} from "preact";
import {useEffect, useId, useLayoutEffect, useRef, useState} from "preact/hooks";
import {t} from "../words/words";
import type {Asked} from "./ask";
import {fresh_screen} from "./bars";
import {go} from "./place";

type Children = {children?: ComponentChildren};

/** A link inside the page; opens a new tab as links do when asked to. */
export function Link({to, children, ...rest}: {to: string} & Children & JSX.HTMLAttributes<HTMLAnchorElement>): JSX.Element {
    const click = (event: MouseEvent): void => {
        if (event.button || event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
        event.preventDefault();
        go(to);
    };
    return <a {...rest} href={to} onClick={click}>{children}</a>;
}

export function Screen({title, above, children}: {title: string; above?: ComponentChildren} & Children): JSX.Element {
    const heading = useRef<HTMLHeadingElement>(null);
    useEffect(() => {
        document.title = `${title} · ${t.name_of_page}`;
    }, [title]);
    useLayoutEffect(() => { // before it is painted, so that nothing moves under a finger: a reader hears where it is; a sighted person sees the top
        if (document.activeElement === document.body || !document.activeElement?.isConnected)
            heading.current?.focus({preventScroll: true});
        fresh_screen();
        scrollTo(0, 0);
    }, []);
    return <main id="work" class="screen">
        {above}
        <h1 ref={heading} tabIndex={-1}>{title}</h1>
        {children}
    </main>;
}

export const Waiting = (): JSX.Element => <p class="waiting" role="status">{t.waiting}<span class="dots" aria-hidden="true"/></p>;

export const Problem = ({text, again}: {text: string | null; again?: () => void}): JSX.Element | null =>
    text === null ? null : <div class="problem" role="alert">
        <p>{text}</p>
        {again && <button type="button" onClick={again}>{t.try_again}</button>}
    </div>;

export const Note = ({children}: Children): JSX.Element => <div class="note">{children}</div>;

/** A caution: a frame with a bar, and the word first. */
export const Caution = ({children}: Children): JSX.Element => <div class="caution" role="note">{children}</div>;

export function Told({asked, children}: {asked: Asked<unknown>} & Children): JSX.Element {
    if (asked.value === null && asked.waiting) return <Waiting/>;
    return <>
        <Problem text={asked.error} again={() => void asked.again()}/>
        {asked.value !== null && children}
    </>;
}

interface ButtonProps extends Children {
    onClick?: () => void;
    main?: boolean;
    quiet?: boolean;
    busy?: boolean;
    disabled?: boolean;
    submit?: boolean;
    label?: string;
    pressed?: boolean;
}

export const Button = ({onClick, main, quiet, busy, disabled, submit, label, pressed, children}: ButtonProps): JSX.Element =>
    <button type={submit ? "submit" : "button"} class={main ? "main" : quiet ? "quiet" : undefined} disabled={disabled || busy}
        aria-busy={busy || undefined} aria-label={label} aria-pressed={pressed} onClick={onClick}>
        {children}{busy && <span class="dots" aria-hidden="true"/>}
    </button>;

interface FieldProps {
    label: string;
    value: string;
    set(value: string): void;
    hint?: string;
    unit?: string;
    type?: "text" | "date" | "tel" | "email" | "search" | "number";
    mode?: "text" | "decimal" | "numeric" | "tel" | "email" | "search";
    lines?: number;
    needed?: boolean;
    list?: string[];
    complete?: string;
    /** What the book has, when it is another than what was typed and that must be seen: somebody else has said it meanwhile. */
    in_book?: string | undefined;
}

export function Field(p: FieldProps): JSX.Element {
    const id = useId();
    const shared = {
        id, value: p.value, required: p.needed, "aria-describedby": p.hint ? `${id}-hint` : undefined,
        onInput: (event: JSX.TargetedEvent<HTMLInputElement | HTMLTextAreaElement>) => p.set(event.currentTarget.value),
    };
    return <div class="field">
        <label for={id}>{p.label}{p.unit && <span class="unit"> ({p.unit})</span>}</label>
        {p.hint && <p class="hint" id={`${id}-hint`}>{p.hint}</p>}
        {p.lines ? <textarea {...shared} rows={p.lines}/>
            : <input {...shared} type={p.type ?? "text"} inputMode={p.mode} autocomplete={p.complete ?? "off"}
                list={p.list ? `${id}-list` : undefined}/>}
        {p.in_book !== undefined && p.in_book !== p.value && <p class="in-book">{t.in_book(p.in_book)}</p>}
        {p.list && <datalist id={`${id}-list`}>{p.list.map(name => <option key={name} value={name}/>)}</datalist>}
    </div>;
}

interface ChoiceProps<V extends string> {
    label: string;
    hint?: string;
    value: V | null;
    set(value: V): void;
    from: readonly {value: V; word: string; about?: string}[];
}

/** One of several, all of them seen at once: no menu to open with a glove on. */
export function Choice<V extends string>({label, hint, value, set, from}: ChoiceProps<V>): JSX.Element {
    const name = useId();
    return <fieldset class="choice" aria-describedby={hint ? `${name}-hint` : undefined}>
        <legend>{label}</legend>
        {hint && <p class="hint" id={`${name}-hint`}>{hint}</p>}
        <div class="chips">
            {from.map(one => <label key={one.value} class="chip">
                <input type="radio" name={name} value={one.value} checked={value === one.value} onChange={() => set(one.value)}/>
                <span>{one.word}{one.about && <small>{one.about}</small>}</span>
            </label>)}
        </div>
    </fieldset>;
}

interface ManyProps<V extends string> extends Omit<ChoiceProps<V>, "value" | "set"> {
    value: readonly V[];
    set(value: V[]): void;
}

export function Many<V extends string>({label, hint, value, set, from}: ManyProps<V>): JSX.Element {
    const id = useId();
    const turn = (one: V): void => set(value.includes(one) ? value.filter(v => v !== one) : [...value, one]);
    return <fieldset class="choice" aria-describedby={hint ? `${id}-hint` : undefined}>
        <legend>{label}</legend>
        {hint && <p class="hint" id={`${id}-hint`}>{hint}</p>}
        <div class="chips">
            {from.map(one => <label key={one.value} class="chip">
                <input type="checkbox" checked={value.includes(one.value)} onChange={() => turn(one.value)}/>
                <span>{one.word}{one.about && <small>{one.about}</small>}</span>
            </label>)}
        </div>
    </fieldset>;
}

interface FileProps {
    word: string;
    accept: string;
    busy?: boolean;
    many?: boolean;
    camera?: boolean;
    chosen(files: File[]): void;
}

/** A button that opens the phone's camera or its files. */
export const FileButton = ({word, accept, busy, many, camera, chosen}: FileProps): JSX.Element => <label class="button file">
    <input type="file" accept={accept} multiple={many} {...(camera ? {capture: "environment" as const} : {})} disabled={busy} onChange={event => {
        const files = [...event.currentTarget.files ?? []];
        event.currentTarget.value = "";
        if (files.length) chosen(files);
    }}/>
    {word}
</label>;

/** How far a long reckoning is; null: none runs. */
export const Progress = ({part}: {part: number | null}): JSX.Element | null => part === null ? null
    : <p role="status" class="waiting"><progress value={part} max={1} aria-label={t.waiting}/> {t.waiting}</p>;

/** Figures and curves are one tap deeper. */
export function Deeper({word, children, open, lazy}: {word: string; open?: boolean; /** What is inside is made when it is opened first. */ lazy?: boolean} & Children): JSX.Element {
    const [made, set_made] = useState(!lazy || open === true);
    return <details class="deeper" open={open} onToggle={() => set_made(true)}><summary>{word}</summary><div>{made && children}</div></details>;
}

export function Form({send, children}: {send: () => void} & Children): JSX.Element {
    return <form noValidate onSubmit={event => {
        event.preventDefault();
        send();
    }}>{children}</form>;
}

/** Something done can be taken back for as long as this stands on the screen. */
export function Undo({word, undo}: {word: string; undo: () => Promise<void>}): JSX.Element | null {
    const [busy, set_busy] = useState(false);
    return <div class="undo" role="status">
        <span>{word}</span>
        <Button busy={busy} onClick={() => {
            set_busy(true);
            void undo().finally(() => set_busy(false));
        }}>{t.undo}</Button>
    </div>;
}
