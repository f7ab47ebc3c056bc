// What the ear is told while the eyes are on the cup: a tone that rises two octaves up to the window, then beats; too much is low.
export type Heard = {part: number; told: "short" | "in" | "over"};

export const pitch_of = ({part, told}: Heard): number =>
    told === "over" ? 150 : told === "in" ? 1047 : 220 * 2 ** (2 * Math.min(1, Math.max(0, part)));

const LOUD = .12, BEAT_MS = 180;

export class Tone {
    private context: AudioContext | null = null;
    private voice: OscillatorNode | null = null;
    private gain: GainNode | null = null;
    private beat = 0;

    /** A browser sounds only after somebody has touched the page. */
    start(): void {
        if (this.context || typeof AudioContext === "undefined") return;
        this.context = new AudioContext();
        this.gain = this.context.createGain();
        this.gain.gain.value = 0;
        this.gain.connect(this.context.destination);
        this.voice = this.context.createOscillator();
        this.voice.type = "triangle";
        this.voice.connect(this.gain);
        this.voice.start();
    }

    /** null: silence. */
    tell(heard: Heard | null): void {
        if (!this.context || !this.gain || !this.voice) return;
        clearInterval(this.beat);
        const now = this.context.currentTime;
        this.gain.gain.setTargetAtTime(heard ? LOUD : 0, now, .02);
        if (!heard) return;
        this.voice.frequency.setTargetAtTime(pitch_of(heard), now, .03);
        if (heard.told !== "in") return;
        let loud = true;
        this.beat = setInterval(() => this.gain?.gain.setTargetAtTime((loud = !loud) ? LOUD : 0, this.context!.currentTime, .01), BEAT_MS) as unknown as number;
    }

    stop(): void {
        clearInterval(this.beat);
        void this.context?.close();
        this.context = this.voice = this.gain = null;
    }
}
