// A press counts for what lay under the finger when it went down. A browser looks again when the finger goes up: if something above has grown
// in between (an answer of the bench that came just then), it would press another thing, or nothing. Keys are not concerned.
const CONTROL = "button, a[href], summary, label, input, textarea";
const SLIPPED_PX = 12;

interface Down {
    control: HTMLElement;
    x: number;
    y: number;
}

const words_of = (element: Element | null): string => element?.getAttribute("aria-label") ?? element?.textContent ?? "";

/** Whether the click is where it was meant: on what was pressed, or on what has taken its place under the same words. */
function meant(down: Down, target: Element): boolean {
    if (down.control.contains(target)) return true;
    return !down.control.isConnected && words_of(target.closest(CONTROL)) === words_of(down.control);
}

function press(control: HTMLElement): void {
    if (control.matches("textarea, input:not([type=radio], [type=checkbox], [type=file])")) control.focus();
    else if (control.isConnected) control.click();
}

export function hold_presses(): void {
    let down: Down | null = null;
    addEventListener("pointerdown", event => {
        const control = event.isPrimary && event.button === 0 && event.target instanceof Element ? event.target.closest<HTMLElement>(CONTROL) : null;
        down = control && {control, x: event.clientX, y: event.clientY};
    }, true);
    addEventListener("click", event => {
        const was = down;
        if (!event.isTrusted || event.detail === 0 || !was || !(event.target instanceof Element)) return;
        down = null;
        if (meant(was, event.target) || Math.hypot(event.clientX - was.x, event.clientY - was.y) > SLIPPED_PX) return; // slipped off: meant as none
        event.preventDefault();
        event.stopImmediatePropagation();
        press(was.control);
    }, true);
}
