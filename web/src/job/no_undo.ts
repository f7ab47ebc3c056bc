// Where the note of the step that was kept last lies (undo.tsx offers to take it back), and its end.
export const OVER = "russet-undo-over";
export const fresh_of = (job: string): string => `done ${job}`;

/** What was kept last is not offered any more: work that stands on it has begun. */
export function no_undo(job: string): void {
    sessionStorage.removeItem(fresh_of(job));
    dispatchEvent(new Event(OVER));
}
