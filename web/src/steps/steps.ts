// The steps of a job that have a screen. A step without one is not shown: nothing on the page is a promise.
import type {ComponentType} from "preact";
import type {Colour, Document, Entry, Job, LogOptions, StepName} from "../job/job";
import {STEPS} from "../job/job";

export interface StepProps {
    job: Job;
    /** The colour that is worked on; null in the steps of the whole job, and in a job that has no colour yet. */
    colour: Colour | null;
    /** Entries of this step (of this colour), newest last. */
    entries: Entry[];
    reload(): Promise<void>;
    /** Logs a document (or null: a note, photographs) in this step and reloads. Survives a lost connection. */
    log(document: Document | null, options?: LogOptions): Promise<void>;
    /** On to the next step. */
    next(): void;
}

export interface Step {
    name: StepName;
    /** Steps of a colour are walked once for each colour of the job. */
    of: "job" | "colour";
    screen: ComponentType<StepProps>;
    /** Whether it is done; left out: when anything was logged in it. */
    done?(job: Job, colour: Colour | null): boolean;
    /** Its screen has a button of its own that leads on. */
    leads_on?: boolean;
    /** One line for the path of the job: what came out so far. null: nothing yet. */
    outcome?(job: Job, colour: Colour | null): string | null;
}

const screens = new Map<StepName, Step>();

export const add_step = (step: Step): void => void screens.set(step.name, step);
export const step_named = (name: string): Step | null => screens.get(name as StepName) ?? null;
export const steps = (): Step[] => STEPS.flatMap(name => screens.get(name) ?? []);
