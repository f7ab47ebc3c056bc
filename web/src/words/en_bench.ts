// English words of the colour steps: colour, recipe, pour, dabs, coats, sheen.
import type {Light} from "../swatch/see";

export const figures = "Figures and curves";
export const more_notes = (n: number): string => n === 1 ? "One more note" : `${n} more notes`;
export const files_chosen = (n: number): string => `${n} files`;
export const light: Record<Light, string> = {D65: "Daylight", A: "Lamp", FL11: "Shop light"};

const list = (things: string[]): string =>
    things.length < 2 ? things[0] ?? "" : `${things.slice(0, -1).join(", ")} and ${things[things.length - 1]}`;

/** Notes of the program that speak of the command line, as the page says them. */
export const notes: Record<string, string> = {
    "quote-missed": "Not every piece was looked at yet, and nothing of the others is in this price. Look at them, and reckon it again.",
    "quote-no-paint": "No paint is in this price yet. Say what it costs you and reckon it again, or find the recipe first.",
    "amount-over-pot": "Pour the rest by the same recipe, stir both pots together, and spray a card of it before the first coat: two cups are never quite one colour.",
    "amount-density-assumed": "Grams are for an assumed density; with a recipe they are surer.",
    "picture-no-profile": "The photographs carry no colour profile; the curve of sRGB was assumed.",
    "coats-wait": "The plan holds for the same air with a warmer surface.",
    "sheen-spray-a-patch": "Spray a test patch with as many coats as the job, dry it, read it, and give its gloss under \u201cReckon it again\u201d: mixes of two days differ.",
    "sheen-is-a-guess": "This is a guess from the two ends alone. Spray a patch and read it; better, add rungs to the ladder.",
    "sheen-strip-how": "Hold each dab to the part under one lamp and look along the surface at a low angle.",
    "photo-shine": "Nothing keeps shine off the picture; it shifts dark colours. Optical gel under glass, or crossed polarisers over card and leather alike, remove it.",
    "start-next": "Strengths are a factor of two unsure: do not weigh from this shelf yet. Print the sheet, dab it, photograph it.",
    "fit-sci-assumed": "The file does not say how it was read; shine included (SCI) was taken.",
    "note-opaque-never-seen": "The colour of an opaque film will not be seen on the job: say what lies under it, and the film.",
};

export const swatch = {
    unknown: "not known", same: "not told apart", just: "just seen", clear: "clearly seen", strong: "strongly off",
    pair: (light: string, difference: string): string => `${light}: the dab on the target, ${difference}`,
    alone: (light: string): string => `${light}: the target`,
    daylight_only: "Only its daylight colour is known; under lamp and shop light it may look otherwise.",
    beyond: (lights: string[]): string => `This screen cannot show it whole (${list(lights.map(l => l.toLowerCase()))}): the real colour is more vivid.`,
};

export const curve = {
    label: "Reflectance", axis: "% of white, over nm", target: "the sound spot", recipe: "the recipe", after: "the pot after it",
    ends: (lines: {word: string; low: number; high: number}[]): string =>
        lines.map(line => `${line.word} from ${line.low} % at 400 nm to ${line.high} % at 700 nm`).join("; "),
};

export const pot = {grams: (g: string): string => `${g} g`, let_down: (g: string): string => `${g} g, as a let-down`, state: {next: "is poured next", later: "comes later"}};

export const colour = {
    what: "Clean the sound spot that the repair will border, and read it: for one panel its neighbour, for a whole set the hidden, unfaded colour.",
    how: "How it is read",
    ways: {
        instrument: {word: "Instrument's file", about: "most sure"},
        photo: {word: "Photographs with a card", about: "a phone is enough"},
        lab: {word: "Type in Lab", about: "daylight only"},
    },
    file: "File of the instrument", file_hint: "CGATS, CxF3, CSV or JSON; repeats of one spot in one file or several.",
    geometry: "How it was measured, when the file does not say", geometry_hint: "It stands on the instrument or in its menu.",
    geometries: {sci: "shine in (SCI)", sce: "shine out (SCE)", "45-0": "45/0"},
    lab_hint: "Under daylight (D65) and 10 degrees, as the instrument shows it.",
    read: "Read it",
    photos: "Photographs of the spot", photos_hint: "The card beside or around it, square on, no flash. Three are better than one.",
    card: "Which card is in them",
    cards: {
        today: {word: "The sheet of the first day", about: "its own dabs"},
        frame: {word: "Bought chart of 24", about: "in the printed frame"},
        file: {word: "Another card", about: "its card.json"},
    },
    card_file: "The card's file", card_file_hint: "card.json, as russet card wrote it.",
    spot_window: "The colour is read in the card's window.", spot_other: "It is elsewhere", spot_tap: "Tap the colour in the photograph.",
    spot_photo: "The first photograph", spot_typed: "Spot as x, y and radius in its pixels", spot_back: "Read the card's window",
    spot_beside: "Tap the sound spot in the photograph.", tap_again: "Tap again to place it exactly.", tap_whole: "Show it whole",
    dab_tap: "Tap the dab in the photograph.", dab_photo: "The first photograph, for the dab", dab_typed: "Dab as x, y and radius in its pixels",
    reading_photos: "Reading the photographs",
    fresh: "A new reading", where: "Where it was read", where_hint: "Under the back rest, beside the seam: next year you will want to know.",
    places: ["beside the repair", "under the back rest, where no sun came", "inside of the flap"],
    keep: "Keep this colour", drop: "Drop it", again: "Read it again", onward: "Find its recipe",
    sure_photo: (de: string): string => `Read from photographs: sure to about ${de}, where 1 is just seen.`,
    sure_lab: "A colour by daylight alone, as it was typed in.",
    sure_repeats: (n: number, out: number): string => n < 2 ? "One reading; three or more would show how even the spot is."
        : `${n} readings${out ? `, ${out} left out` : ""}.`,
    repeats_differ: "Repeats differ by", left_out: "Left out",
};

export const first_day = {
    title: "No instrument, no chart: the first day", done: "done",
    name: "Name the toners", name_does: "What is in each bottle, by its label or safety data sheet: Colour Index names, or families where it says none.",
    index: "One toner a line: name=pigment",
    index_hint: "white=PW6, yellow-oxide=PY42, black=PBk7, red=unknown-red. Parts are joined by +: blue=PB15:3+PW6:.1",
    make: "Begin this shelf",
    sheet: "Print the sheet", print_does: "Matt paper, at 100 %. Hold a ruler to it.", print: "Open the sheet",
    dab: "Dab the toners", dab_does: "Each toner as it is, and 1 part to 9 of white by weight, evenly over its black and its white half. Let them dry.",
    photograph: "Photograph the sheet", sheet_does: "Once, in open shade outdoors, square on, without flash.", sheet_photo: "Photograph of the sheet", read_sheet: "Read the dabs",
    shelf: "Make it the shop's shelf", keep: "Use this shelf", keep_words: "from the sheet of the first day",
    keep_caution: "Recipes of every job are then made from it. The shelf before stays in the book.",
    spot: "Photograph the spot", spot_does: "Cut the window out, lay the sheet on the cleaned, sound spot and photograph it in the same light. Then read it above, with the sheet of the first day as the card.",
};

export const recipe = {
    what: "Which of your toners, by weight, make this colour.",
    batch: "How much to mix", batch_hint: "With some to spare for dabs and cards: two cups are never quite one colour.",
    how_much: "How much does it take", how_much_film: "30 µm is usual; what the recipe needs to hide is told with it.", how_much_reckon: "Reckon how much",
    how_much_says: (ml: string, g: string, cards: number): string => `${ml} ml, about ${g} g with what stays in cup and line; ${cards} g more for cards and dabs. It stands above.`,
    under: "What lies under it",
    unders: {hides: {word: "A film that hides", about: "nothing shows through"}, same: {word: "The grounds of the last recipe"}, file: {word: "A ground I measured", about: "filler, sanded crust"}},
    ground_file: "Reading of the ground", ground_hint: "Of several, the colour is for the first, hiding for the worst.",
    film: "Dry film of all coats", film_hint: "Left empty: as much as hides.", more_wishes: "More wishes",
    coat: "Dry film of one coat", coat_hint: "6 µm is a thin coat by gun.", sheen: "Sheen of the finished part", sheen_hint: "Dark colours move with the sheen. Left empty: as your sprayed cards were.",
    binder: "Binder in the mix", binder_hint: "With less of it a film hides in fewer coats, and is less supple. Left empty: chosen inside the usual limits.",
    tolerance: "How near is near enough", without: "Do not use", stock: "Stock", stock_only: "Only what is left on the shelf",
    searching: "Trying the toners", find: "Find pots",
    none: "No pot comes near this colour.", outside: "None is near enough.",
    pots: "Pots to choose from", in_pot: "What is in this pot, from the top",
    take: "Take this pot", pour: "Pour it", again: "Find other pots",
    no_colour: "There is no colour to match yet.", to_colour: "Read the colour", no_shelf: "The shelf is empty: recipes are made from your own toners.", to_first_day: "Begin a shelf",
    outcome: (toners: number, hides: string): string => `${toners === 1 ? "1 toner" : `${toners} toners`}, ${hides.toLowerCase()}`,
    hides: (coats: number, um: number): string => coats > 9 ? `Hides in ${coats} coats of ${um} µm` : `Hides in ${coats === 1 ? "1 coat" : `${coats} coats`}`,
    shows_through: "Lets the ground show through", hiding_unknown: "Hiding not known",
    cards: (n: number): string => n === 1 ? "about 1 card" : n > 3 ? "4 cards or more" : `about ${n} cards`,
    steady: "the same under every light", weakest: (light: string): string => `weakest under ${light.toLowerCase()}`, daylight_only: "known by daylight only",
    sentence: (hides: string, cards: string, light: string): string => `${hides}, ${cards}, ${light}.`,
    traits: {near: "nearest", few: "fewest toners", cheap: "cheapest", hides: "hides soonest", steady: "steadiest under lamps", weigh: "easiest to weigh"},
    first: "best overall", other_parts: "other parts",
    with_toner: (names: string[]): string => `with ${list(names).toLowerCase()}`, without_toner: (names: string[]): string => `no ${names.join(" or ").toLowerCase()}`,
    off_under: (light: string): string => `Off under ${light.toLowerCase()}`, first_card: "The first card may be off by, in 19 of 20",
    film_to_hide: "Dry film that hides", weighing: "What the scale may blur", least_batch: "Least batch for this scale", price: "Toners cost",
};

export const pour = {
    no_recipe: "There is no recipe to pour yet.", to_recipe: "Find a recipe",
    batch: "How much to pour", more: "Scale, cup, and what is sprayed", step: "Last digit of the scale", step_hint: "0.01 for a scale that shows hundredths.",
    cup: "The cup holds at most", cup_hint: "Bounds what a mended over-pour may grow to.", begin: "Begin to pour", paper: "Open the pour sheet",
    pour: (name: string): string => `Pour ${name}`,
    until: "until the scale shows", still: "still to pour", past: "too much by", upto: (g: string): string => `up to ${g} g`, gives: (g: string): string => `that is ${g} g more`,
    window: (minus: string, plus: string): string => minus === plus ? `, give or take ${minus}` : `, from ${minus} under to ${plus} over`,
    let_down: (toner: string, name: string, binder: string): string => `First stir ${toner} g of ${name} into ${binder} g of binder, and pour from that.`,
    let_down_again: (name: string): string => `Out of the ${name} that you stirred into binder.`,
    out_of: (lot: string): string => `Out of ${lot}.`, in_pot: "The pot, from the top",
    reading: "The scale shows", take: "Poured", take_short: "So far", take_over: "Too much",
    told: {less: "The scale showed more before. Was something lifted?", nothing: "", short: "Not there yet.", in: "Inside the window.", over: "Past the window."},
    gauge: (g: string): string => `The line is at ${g} g`, gauge_at: (g: string, now: string, told: string): string => `The line is at ${g} g, the scale at ${now} g. ${told}`,
    scale_says: {overload: "The scale shows too much for it. Take something off.", underload: "The scale shows less than nothing. Is the cup off?", trouble: "The scale tells of an error of its own.",
        "no mass": "The scale counts pieces or per cent. Set it to grams.", unread: "What the scale sends cannot be read. Type its reading; its speed or its pattern may be wrong (russet serve --help)."} as Record<string, string>,
    scale_lost: "The scale does not answer. Type its reading.", mute: "Mute",
    awake: "The screen stays on while you pour.", not_awake: "This browser may let the screen go dark. What was poured is kept.",
    zeroed: "The cup is on, the scale at zero",
    undo: "Undo the last pour", stop: "Leave it for now",
    all_in: (g: string): string => `All is in: ${g} g`, ends_inside: "Every pour is in. Stir to the bottom and strain.",
    ends: (difference: string): string => `Every pour is in. Beside the recipe: ${difference}. Stir to the bottom and strain.`,
    keep: "Into the book", done: (g: string, at: string): string => `${g} g poured, ${at}.`, onward: "On to the dabs", another: "Pour another pot", thrown: "Begun again; this pot was thrown away.",
    over_title: "Too much was poured", over: (names: string): string => `Too much ${names}`,
    over_what: "Nothing comes out of a stirred cup. This can be done:",
    leave: "Leave it", leave_words: (difference: string): string => `pour the rest as planned; against the recipe: ${difference}`,
    enough: "Mend it, near enough", partial: "Mend it as far as the cup allows", whole: "Mend it whole",
    mend_words: (added: string, total: string, difference: string, let_down: string[]): string =>
        `${added} g still to pour${let_down.length ? `, of which ${list(let_down)} stirred into binder first` : ""}, the pot becomes ${total} g: ${difference}`,
    begin_again: "Begin again", begin_again_words: (g: string): string => `throws away ${g} g`, mistyped: "I typed it wrong",
    spray: {
        title: "Into what will be sprayed", spray: "How much will be sprayed", thinner: "Thinner", slip: "Slip", crosslinker: "Crosslinker", kind: "The crosslinker is",
        kinds: {unknown: "not known", isocyanate: "an isocyanate", aziridine: "an aziridine"},
        what: {thinner: "Thinner", slip: "Slip", crosslinker: "Crosslinker"} as Record<string, string>,
        after: (g: string, keep: string): string => `Once the colour is approved: into ${g} g. The other ${keep} g stay without and can be kept.`,
    },
};

export const dabs = {
    no_pot: "Nothing has been poured yet.", to_pour: "Pour the pot",
    what: "Dab or spray a card from the pot, let it dry, coat it as the job will be, and hold it to the part by daylight.",
    taken: "Taken from the pot so far", taken_hint: "For dabs and cards, all together.",
    how: "How do you judge it",
    ways: {eye: {word: "By eye", about: "in words"}, ring: {word: "Ring of dabs", about: "tap the nearest"}, beside: {word: "Photograph both", about: "dab beside the part"}, measured: {word: "Measure the card", about: "most sure"}},
    eye_what: "The dab should become:", either: (a: string, b: string): string => `${a} or ${b}`,
    eye: {lighter: "lighter", darker: "darker", redder: "redder", greener: "greener", yellower: "yellower", bluer: "bluer", cleaner: "cleaner", dirtier: "dirtier"},
    how_much: (word: string): string => `How much ${word}`, sizes: {"1": "just seen", "2": "clearly", "3": "strongly"},
    find: "What to add", state: "The card is", states: {coated: "dry and coated", dry: "dry, not coated", wet: "wet"}, how_read: "How the card is read",
    card_kind: "The card lies", card_kinds: {halves: {word: "Half over white", about: "tells strength from hiding"}, plain: {word: "Over one ground", about: "the job's"}},
    halves_does: "One film, sprayed half over the job's ground and half over white: a black and white contrast card will do. So the shelf learns sooner.",
    parts: {bare: "Read the white half bare, before it is sprayed. It is kept for the next cards.", white: "Read the film over the white half.", ground: "Read the film over the job's ground."},
    bare_again: "Read the bare white anew", white_again: "Read the white half anew",
    beside_does: "Lay the dry, coated dab beside the spot in the card's window and photograph both at once, with the phone that read the colour. What the camera makes of both alike falls out.",
    ring_does: "Seven small dabs around the pot, each of a known mix. Hold them to the part; the nearest says what the pot lacks.",
    lay_ring: "Lay out a ring", ring_what: "The ground is the target, the dabs are what each will be. Mix them, hold them to the part, and tap the nearest; or the two it lies between.",
    ring_label: "Dabs", dab: (n: number, says: string): string => `Dab ${n}: ${says}`, none_tapped: "None tapped yet.",
    tapped: (which: string[]): string => `Nearest: ${list(which)}.`, mix_dabs: "How each dab is mixed",
    ring_let_down: (toner: string, g: string, binder_g: string, binder: string): string => `First stir ${g} g of ${toner} into ${binder_g} g of ${binder}: dabs that say let down take of that.`,
    dab_mix: (pot: string, more: string[]): string => more.length ? `${pot} g of the pot, ${more.join(", ")}` : `${pot} g of the pot, as it is`,
    ring_paper: "Open the sheet", ring_drop: "Put the ring away",
    pot_so_far: "The pot so far", all_added: "All is in. Stir to the bottom, strain, and make a new card.", keep_added: "Into the book",
    near_enough: "Near enough: nothing needs to be added.",
    nothing_helps: "No addition brings this pot nearer.",
    adds: (what: string[], difference: string | null): string => `Add ${list(what)}${difference ? `: then ${difference}` : ""}.`,
    before: "Off now", after: "Off after it", after_p95: "In 19 of 20 under", remains: "Left in the pot", total: "The pot then weighs",
    start_over: (keep: string, more: string[]): string => `To get there, start over from ${keep} g of this pot with ${list(more)}.`,
    pot_after: "The pot with what is added, from the top", pour_these: "Pour these", judge_again: "Judge it again",
    zero_with_pot: "Set the pot on the scale and zero it once; the readings below count from there.", back_to_sentence: "Not now",
    pot_now: "The pot as it is", history: "Added so far", matches: "It matches: leave it so", matches_note: "Held to the part: it matches.",
    corrected: (n: number): string => n === 1 ? "Corrected once." : `Corrected ${n} times.`,
};

export const coats = {
    what: "How much to mix, how many thin coats, and whether the air is right.",
    fields: {
        area: "Area under full film", film: "Dry film of all coats together", solids: "Solids by volume, not thinned", coats: "Coats", thinner: "Thinner, of the paint by volume",
        fade: "Length of the faded edge", flash: "Flash-off", air: "Air", rh: "Humidity", surface: "Surface", start: "First coat at",
    },
    area_hint: "A seat face is about 0.3 m².", film_hint: "What hides, by the recipe or a card.", film_from_recipe: "As the recipe was made for.", solids_hint: "It stands on the product's sheet.",
    by: "How it goes on", bys: {sponge: "sponge", brush: "brush", airbrush: "airbrush", "mini-gun": "mini gun", gun: "gun"},
    edge: "Where this colour ends", edges: {seam: "at a seam", panel: "at the panel's edge", fade: "faded out"},
    air_title: "The air now", air_hint: "With all three it says go or wait, and stretches the flash-off.",
    more: "Thinner, flash-off, clock", count: "left empty: as many as it takes", thinned_with: "Thinned with", kinds: {water: "water", solvent: "solvent"}, flash_hint: "By the product's sheet, at 20 °C and 50 %.",
    reckon: "Plan the coats", go: "Go", wait: "Wait",
    sentence: (ml: string, g: string, coats: number, at: number | null): string =>
        `Mix ${ml} ml (${g} g) for ${coats === 1 ? "1 coat" : `${coats} coats`}${at ? `; from coat ${at} on nothing shows through` : ""}.`,
    in_pot: (g: string, left: number): string => left >= 0 ? `The pot holds ${g} g: it suffices, and ${left} g are left over.` : `The pot holds ${g} g: ${-left} g are missing.`,
    between: (minutes: number, all: number): string => `Wait ${minutes} min between the coats; about ${all} min in all.`,
    picture: (n: number, um: number): string => `${n} coats on the ground, ${um} micrometres in all`,
    picture_hides: (n: number, um: number, hide: number): string => `${n} coats on the ground, ${um} micrometres in all; nothing shows through from ${hide} micrometres`,
    ground: "ground", hides_here: "hides from",
    figures: {wet_um: "Wet film of a coat", dry_um: "Dry film of a coat", coat_ml: "Paint of a coat", transfer: "Lands on the work", loss: "Stays in cup and line", speed: "Gun moves at", step: "Stroke beside stroke", distance: "Gun to work"},
    ignition: "Solvent is in the plan. Phone, scale and hotspot can ignite it: keep them outside the spray area, and follow the product's safety data sheet and local rules.",
    keep: "Into the book", onward: "On to the grain", paper: "Open the coat card", again: "Plan it again", area_from_look: "As the first look said.",
    outcome: (coats: number, ml: string): string => `${coats === 1 ? "1 coat" : `${coats} coats`}, ${ml} ml`,
};

export const sheen = {
    what: "Matte and gloss clear, mixed to the sheen of the sound part.", how: "How the sheen is told",
    ways: {ladder: {word: "Gloss meter", about: "and your ladder"}, strip: {word: "By eye", about: "a strip of dabs"}},
    target: "Gloss of the sound part", target_hint: "Mean of several readings, along and across.", angle: "Read at",
    ladder: "Your ladder", ladder_hint: "What your own mixes of matte and gloss clear measured, dry. It is kept in the shop.", matte: "Matte part", gloss: "Gloss", one_more: "One more rung", ladder_file: "Or a file of it (CSV)",
    patch: (matte: number): string => `Test patch with ${matte} % matte read`, patch_hint: "Corrects the ladder for today's mix.",
    more: "How much, and where", batch: "Mixed clear", place: "What is coated",
    places: {seat: "seat", door: "door", dash: "dash", wheel: "wheel", pedal: "pedal", furniture: "furniture", other: "other"},
    reckon: "Reckon the mix",
    strip_does: "Seven dabs from gloss to matte, to hold to the part under one lamp.", lay_strip: "Lay out a strip",
    strip_what: "Mix them, lay them with as many coats as the job, let them dry. Tap the nearest; or the two it lies between.",
    dab: (matte: string, gloss: string): string => `${matte} ml matte, ${gloss} ml gloss`, this_one: "Mix for this sheen", strip_drop: "Put the strip away",
    outcome: (matte: number): string => `${matte} % matte`,
    sentence_eye: (matte: number): string => `${matte} % matte clear; a second, narrower strip makes it surer.`,
    sentence: (matte: number, gu: string, interval: string[]): string => `${matte} % matte clear gives about ${gu} GU, between ${interval[0]} and ${interval[1]}.`,
    curve: (matte: number, target: number, interval: readonly number[]): string => `Gloss over the matte part: ${target} GU at ${matte} % matte, between ${interval.map(gu => gu.toFixed(0)).join(" and ")} GU`,
    matte_axis: "matte part", matte_clear: "Matte clear", gloss_clear: "Gloss clear",
    keep: "Into the book", onward: "On to the final check", again: "Reckon it again",
};
