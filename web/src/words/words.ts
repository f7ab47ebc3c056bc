// Every string of the screen, in one catalogue: another language is another set of the same shape.
// `t.key` is a sentence, `t.key(...)` one with something in it. Sentences of refusals come from the program itself.
import * as bench from "./en_bench";
import * as page from "./en_page";

export const t = {...page, ...bench};
