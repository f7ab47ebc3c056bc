// English words of the page. Plain words of the bench; a figure has its unit; no exclamation marks.
import type {JobState, StepName} from "../job/job";

export const name_of_page = "russet";
export const skip = "Skip to the work";
export const places = {jobs: "Jobs", shelf: "Shelf", book: "Book", settings: "Settings"};
export const places_label = "Places of the bench";
export const back_to_job = "Back to the job";
export const back = "Back";
export const waiting = "One moment";
export const try_again = "Try again";
export const out_of_reach = "The bench does not answer. Is the machine that runs it on, and is this phone on its network?";
export const went_wrong = "That did not work.";
export const no_such_place = "There is nothing at this address.";
export const to_jobs = "To the jobs";
export const optional = "may stay empty";
export const save = "Save";
export const cancel = "Cancel";
export const done = "Done";
export const undo = "Undo";
export const undone = "Taken back.";
export const remove = "Remove";
export const more = "More";
export const months = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
export const print = "Open the paper";

export const step: Record<StepName, string> = {
    look: "First look", quote: "Price", prepare: "Prepare", colour: "Colour", recipe: "Recipe", pour: "Pour", dabs: "Dabs",
    coats: "Coats", grain: "Grain", sheen: "Sheen", check: "Final check", handover: "Hand over",
};
export const step_does: Record<StepName, string> = {
    look: "Photographs, what is damaged, and whether it may be worked on at all.",
    quote: "What it costs, as a range, beside the price of a new part.",
    prepare: "Clean, mask, sand, fill: in order, with the waits.",
    colour: "Measure the sound spot that the repair will border.",
    recipe: "Your own toners, by weight.",
    pour: "Weigh it in, toner by toner.",
    dabs: "Hold it to the part, and correct.",
    coats: "How much, how many, and when the air is right.",
    grain: "Bring back the grain that sanding took.",
    sheen: "Matte and gloss clear, to the sheen of the part.",
    check: "The repair against the sound part.",
    handover: "The record for the customer, and for next year.",
};
export const step_state = {done: "done", next: "next", open: "not yet"};
export const step_of = (at: number, count: number): string => `Step ${at} of ${count}`;
export const go_on_with = (name: string): string => `Go on: ${name}`;
export const the_path = "Steps of the job";
export const which_colour = "Which colour";
export const changed_elsewhere = (what: string): string => `Somebody else has just worked on this job: ${what}`;
export const changed_words = "its words, its day or its state";
export const reload_now = "Show it";

export const job_state: Record<JobState, string> = {open: "open", waiting: "waiting", ended: "ended", declined: "declined"};

export const queue = {
    waiting: (n: number): string => n === 1 ? "One thing is kept on this phone until the bench answers."
        : `${n} things are kept on this phone until the bench answers.`,
    sent: "Everything is in the book now.",
};
