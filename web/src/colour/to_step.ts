// The address of another step of this job, for the colour that is worked on.
import type {Colour, Job, StepName} from "../job/job";

export const to_step = (job: Job, step: StepName, colour: Colour | null): string =>
    `/job/${job.number}/${step}${colour && job.colours.length > 1 ? `?colour=${colour.id}` : ""}`;
