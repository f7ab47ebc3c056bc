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
/** Refusals that say on the page what to do there. */
export const refusals: Record<string, string> = {
    "handover-not-passed": "The last final check did not pass.",
    "card-other-geometry": "The card and the sound spot were not read the same way: one by an instrument and one by photograph, or with and without shine. Read both alike.",
    "backing-other-geometry": "The ground and the sound spot were not read the same way: one by an instrument and one by photograph, or with and without shine. Read both alike.",
};
export const files: Record<string, string> = {"card.json": "The card", "target.json": "The sound spot", "toners.json": "The shelf", "shelf.json": "The shelf", "recipe.json": "The recipe",
    "stock.json": "The stock", "lights.json": "The torch", "sheet.json": "The sheet", "start.json": "The sheet", "last.json": "The ring"};
export const no_such_place = "There is nothing at this address.";
export const to_jobs = "To the jobs";
export const optional = "may stay empty";
export const save = "Save";
export const kept = "It is in the book.";
export const in_book = (what: string): string => what ? `In the book: ${what}` : "In the book: nothing";
export const language = "en";
export const cancel = "Cancel";
export const done = "Done";
export const undo = "Undo";
export const undone = "Taken back.";
export const kept_what = (step: string): string => `${step}: it is in the book.`;
export const seen = "I have seen it";
export const remove = "Remove";
export const more = "More";
export const months = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
export const print = "Open the paper";
export const picture_unseen = "This browser cannot show that picture. Give it as JPEG or PNG.";

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
export const step_state = {done: "done", next: "next", open: "not yet", skipped: "passed over"};
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

export const pairing = {
    title: "Let this device in",
    how: "Take a device that is already in, or the machine that the bench runs on: Settings, then Add a device. It shows six figures.",
    code: "The six figures", code_hint: "They hold for a few minutes, and once.",
    name: "What this device is called", name_hint: "So that you know which one to send away when it is lost.",
    send: "Let me in", phone: "phone", tablet: "tablet", computer: "computer",
    used: "This address was opened once already, and lets nobody in a second time.",
    on_machine: "On the machine itself: open the address that russet serve printed, with its ticket. Each ticket opens once; russet serve prints a new one.",
};

export const jobs = {
    none: "No job yet. A job holds everything about one customer's piece: photographs, price, colour, pots, proof.",
    none_such: "No job here by that name.", bench_empty: "Nothing is on the bench. All shows what was handed over.",
    new_one: "New job", which: "Show", on_bench: "On the bench", all: "All", find: "Find by title, customer or number",
    number: (n: number): string => `Job ${n}`, next: (step: string): string => `next: ${step}`,
    due: (day: string): string => `promised for ${day}`, late: (day: string): string => `late, promised for ${day}`,
};

export const new_job = {
    title: "What it is called on the bench", title_hint: "The piece, as you would say it: helm seat of the launch",
    title_needed: "Give it a name first: what the piece is called on the bench.",
    customer: "Customer", customer_hint: "A name from the book, or a new one.", reach: "How to reach a new customer",
    telephone: "Telephone", email: "Mail", address: "Address",
    pieces: "Pieces", pieces_hint: "One on each line: seat cushion, back rest",
    colours: "Colours", colours_hint: "What you call them: cognac. Each is measured and mixed for itself.", parts_hint: "What each colour is for, and on which piece, is said in the job.",
    cause: "Why it came back", due: "Promised for", place: "Where the work is done", place_hint: "Left empty: in your own shop.", words: "What was said",
    send: "Open the job",
};

export const about = {
    title: "Name, day and state", parts: "Pieces and colours", history: "What was done", nothing_yet: "Nothing yet.",
    state: "Where it stands", pieces: "Pieces", no_pieces: "None yet. Each piece is looked at for itself.", add_piece: "Another piece",
    colours: "Colours", no_colours: "None yet. The colour steps begin with one.", add_colour: "Another colour", add: "Add",
    return_of: (n: number): string => `A return of job ${n}`, made_then: "Made then:", came_back: (n: number): string => `Came back as job ${n}`, comes_back: "It came back",
    role: "What it is for", goes_on: "On which pieces", on: (role: string, pieces: string): string => pieces ? `${role}, on ${pieces}` : role, on_none: "no piece",
    states: {open: "on the bench", waiting: "for the customer or a part", ended: "handed over", declined: "not done"} as Record<JobState, string>,
    roles: {body: "body", second: "second colour", thread: "thread", piping: "piping", other: "other"},
};

export const kind = (name: string): string => KINDS[name] ?? "";
const KINDS: Record<string, string> = {
    reading: "a reading", match: "recipes", pour: "a pot", adjustment: "a correction", ring: "a ring of dabs", amount: "the amount",
    coats: "the coats", air: "the air", sheen: "the clear", grain: "the grain", plan: "looked at", prepared: "steps done", quote: "a quote",
    photograph: "a photograph", "taken-back": "taken back", "kept-finish": "into the book", invoiced: "an invoice", inspection: "a check", "eye-check": "a look by eye", handover: "the record", damage: "the damage measured", "grain-comparison": "the grain compared", "gun-shot": "a test shot",
};

export const photos = {
    title: "Photographs", take: "Take a photograph", choose: "Choose pictures", none: "No photograph yet.",
    sending: (at: number, count: number): string => `Sending ${at} of ${count}`, not_shown: "It cannot be shown here; it is kept as it is.",
    taken_back: "The photograph was taken out of the job.", sure: "Take it out of the job",
};

export const look = {
    first: "Before anything is touched: the piece whole, then each damage, with the card beside it.",
    airbag: "Is there an airbag in or behind this part?", airbag_hint: "Look for the label, ask the maker's manual or a dealer. Seat sides, pillars, dashboards and wheels often have one.",
    answers: {no: "No", yes: "Yes", unknown: "I do not know"},
    which_piece: "Which piece", now_piece: (name: string): string => `Now look at: ${name}`, whole_job: "the whole job", craft: "What it belongs to", place: "Which part it is", material: "What it is made of",
    damage: "What is wrong with it", damage_hint: "All that you see.",
    size: "How large", area: "Area that is worked on", area_hint: "Length times width: a seat cushion is about 0.3 m².",
    line: "Cracks and cuts, all together", spots: "Loose flaps, holes, stains",
    special: "What else is there", perforated: "holes in it", ventilated: "a fan below it", heated: "a heater below it", agreed: "the customer wants the coat that changes it",
    finish: "Does the finish glitter", finishes: {plain: "no", metal: "metal flakes", pearl: "pearl"}, recoloured: "Was it coated before by somebody", recoloured_hint: "Colour on the cloth of the solvent rub says yes.",
    mark: "Mark moulded into its back", mark_hint: "As >PP+EPDM< or >ABS<: it says what holds on this plastic. May stay empty.",
    edge: "Where the colour ends", edges: {break: "at a seam or an edge", fade: "it fades out on the face"},
    by: "How it goes on", bys: {sponge: "sponge", brush: "brush", airbrush: "airbrush", "mini-gun": "small gun", gun: "gun"},
    crosslinker: "What goes into the pot to harden it", crosslinkers: {none: "nothing", isocyanate: "an isocyanate", aziridine: "an aziridine", unknown: "I do not know"},
    fire: "Was a fire rating asked for", fires: {none: "no", needed: "yes"},
    note: "In your own words", send: "Keep what I saw", again: "Keep it so", photo_of: (step: string): string => `Photograph, ${step}`,
    stop_send: "Keep why not", outcome: (pieces: number, pictures: number): string => [pieces ? (pieces === 1 ? "looked at" : `${pieces} pieces`) : "", pictures ? (pictures === 1 ? "1 photograph" : `${pictures} photographs`) : ""].filter(Boolean).join(", "),
    stop: "Stop here", may: "It may be worked on", mind: "It may be worked on, with care",
    missing: "Say first what it belongs to, which part it is, what it is made of and what is wrong with it.",
    crafts: {
        boat: "private boat", "work-boat": "working boat", car: "car or van", "electric-car": "hybrid or electric car", motorcycle: "motorcycle",
        coach: "coach, bus or taxi", furniture: "furniture at home", "contract-furniture": "office or hotel furniture", aircraft: "aircraft",
        rail: "rail vehicle", other: "something else",
    } as Record<string, string>,
    places: {
        seat: "seat", "seat-back": "seat back", headrest: "headrest", cushion: "cushion or arm of furniture", "wheel-rim": "steering wheel rim",
        "wheel-pad": "steering wheel pad", dash: "dashboard", "dash-door": "airbag door of a dashboard", "knee-panel": "knee panel",
        pillar: "pillar trim", "roof-rail": "roof rail or headliner edge", "door-card": "door card", console: "console or arm rest",
        gear: "gear knob, boot or handle", belt: "seat belt", pretensioner: "belt pretensioner", "child-seat": "child seat", trim: "loose trim",
    } as Record<string, string>,
    materials: {
        pigmented: "pigmented leather", "semi-aniline": "semi-aniline leather", aniline: "aniline leather", "pull-up": "waxed pull-up leather",
        suede: "suede or nubuck", "coated-split": "coated split", bonded: "bonded leather", leather: "leather, not told yet", pu: "PU-coated fabric",
        pvc: "vinyl", "soft-touch": "soft-touch plastic", plastic: "hard plastic",
    } as Record<string, string>,
    damages: {
        worn: "worn colour", faded: "faded colour", scuff: "scuff or scratch", shine: "polished, shiny", crack: "cracks", cut: "cut or tear",
        hole: "hole", burn: "burn", flap: "loose flap", peeling: "peeling", "grain-lost": "lost grain", dye: "dye transfer", oil: "body oil",
        silicone: "silicone or dressing", mould: "mould", stain: "ink or other stain", sticky: "sticky",
    } as Record<string, string>,
};

export const damage = {
    title: "Measure cracks and lost colour", again: "Measure it again", how: "On a photograph that looks straight down on the panel. It finds lines and pale places; a stain or a seam can look like one, so look before you believe.",
    which: "On which photograph", photo_n: (n: number): string => `Photograph ${n}`, photo: "The photograph, to tap on",
    what: "What you tap now", whats: {length: "A known length", panel: "The panel", sound: "A sound place"},
    is: {length: (n: number): string => n === 2 ? "both ends" : `${n} of 2 ends`, panel: (n: number): string => n > 2 ? `${n} corners` : "the whole picture", sound: (n: number): string => n ? "one" : "not told"},
    tap: {length: "Tap both ends of something whose length you know: a ruler, a card.", panel: "Tap the corners of the panel, one after the other.", sound: "Tap a clean place without damage."},
    typed: {length: "or its ends, typed: x,y x,y", panel: "or its corners, typed: x,y x,y x,y", sound: "or its middle, typed: x,y"}, last_tap: "Take the last tap back",
    mm: "How long that is", mm_hint: "Between the two ends that were tapped.", lamp: "Photographs with the lamp moved", lamp_hint: "Of the same place, the camera not moved: cracks stand out better.",
    one_place: "Both ends lie on one place: tap the two ends of the known length.", measure: "Measure", marked: "The photograph with its cracks and lost colour marked", legend: "Lines are cracks, hatched places have lost their colour.",
    sentence: (crack: number, loss: string, panel: string): string => `${crack > 0 ? `${crack} mm of cracks` : "No cracks"} and ${Number(loss) > 0 ? `${loss} cm² of lost colour` : "no lost colour"} on ${panel} cm².`,
    sure: (mm: string | null, cm2: string | null): string => `Sure to about ${[mm && `${mm} mm of cracks`, cm2 && `${cm2} cm² of lost colour`].filter(Boolean).join(" and ")}, in 19 of 20.`,
    doubt: (figure: string, within: string | null): string => within === null ? figure : `${figure} ± ${within}`, cracks: "Cracks", loss: "Lost colour",
    measured: "What was measured", the_figures: "The figures", figures: "By the work it asks for", width: "Width of the cracks", upto: (mm: string): string => `up to ${mm} mm`, take: "Take these figures into the form",
    classes: {"clean-only": "clean only", recolour: "recolour", "flexible-fill": "flexible fill", "glue-flap": "glue a flap", "sub-patch": "patch under it", "new-panel": "a new panel"} as Record<string, string>,
};

export const grain = {
    what: "Read the grain of the sound part, and of the repair or a test card. They are compared, and the gun's next setting comes from what your shots gave.",
    of: {sound: "Sound part", repair: "Repair"}, whose: "Whose grain", not_read: "not read yet", relief: (whose: string): string => `${whose}: its relief, lit from the side`,
    size: (sal: string, sa: string): string => `Grains about ${sal} mm, ${sa} µm high`, same: "The same grain", different: "Not the same grain", sound_read: "the sound part is read",
    compare: "Compare them", figures: "The figures", verdicts: {same: "same", different: "different", "not told": "cannot be told"}, onward: "On to the sheen",
    read_title: "Read a grain", photos: "Photographs with the torch moved", photos_hint: "Eight are good, three the least: camera on a stand, the torch at the next hour of a clock for each.",
    torch: {elevation: "Torch above the surface", distance: "From torch to surface", wide: "Width of what the photograph shows"}, wide_hint: "Lay a ruler in it once and take it out again.", elevation_hint: "20 to 50 degrees.",
    first: "Torch in the first photograph", first_hint: "Twelve is the top of the picture.", hour: (h: string): string => `${h} o'clock`, turn: "Then it went", turns: {clock: "as a clock goes", against: "against the clock"},
    by_hand: "By feel, without photographs", done_by_hand: "What was done", done_hint: "Grain paste and roller, drier coats from further off: next year you will want to know.", keep_done: "Keep what was done",
    read: "Read the grain", gun_title: "The gun's next shot", gun: "At the gun",
    shots: (n: number): string => n === 0 ? "No test shot is in this job yet." : n === 1 ? "One test shot so far." : `${n} test shots so far.`,
    next_shot: "What to try next", first_shot: "Where to begin", try: "Try this", expected: (sal: string, sa: string): string => `It should give grains of about ${sal} mm, ${sa} µm high.`,
    shot: "The setting of this repair", shot_how: "The grain of the repair that was read last came from this setting:", keep_shot: "Keep this shot", turns_unit: "turns",
    knobs: {pressure_bar: "Pressure at the gun", fluid_turns: "Fluid needle open", distance_mm: "Gun to work", viscosity_s: "Cup, 4 mm"},
};

export const quote = {
    look_first: "A price needs to know what is wrong. Look at the piece first.", to_look: "To the first look",
    range: "Between", and: "and", from: "from", up_to: (currency: string): string => `to ${currency}`, with_tax: "tax is in it", plus_tax: "plus tax", number: (n: number): string => `Quote ${n}`,
    holds: (day: string): string => `holds until ${day}`, make: "Reckon the price", again: "Reckon it again",
    accept: "The customer says yes", decline: "The customer says no", accepted: "The customer said yes. The quote stands as it is.",
    otherwise: "The customer wants it otherwise", otherwise_how: "Another quote, of the whole job. The one that was agreed on stands until the customer says yes to the new one.", declined: "The customer said no.", replaced: "A newer one has taken its place.", materials: "Paint and the like, what it costs you", new_part: "A new part, fitted, for comparison",
    km: "Way there and back", call_out: "The work is done at the customer's", discount: "Discount, off everything",
    lines: "Line by line", hours: (low: string, high: string): string => `${low} to ${high} hours of work`, others: "Paint, way and new part",
    paper: "Save the quote as PDF", beside: "Against a new part",
    no_prices: "The bench does not know your prices yet. Say them once.", prices: "Your prices",
    currency: "Currency", hour: "What an hour of labour costs you", overhead: "Rent, van, insurance, per hour", margin: "Margin, of the price", tax: "Tax on everything",
    least: "Smallest charge of a job", call_out_price: "For coming", per_km: "For the way", consumables: "Tape, cloths, abrasives", shop_name: "The shop's name on its papers",
    keep_prices: "Keep these prices", prices_kept: "Your prices are in the book.", gross: "My prices have the tax in them", paper_size: "Paper",
};

export const prepare = {
    none: "The steps come from the first look.", cautions: "Before you begin", wait: (min: string): string => `wait ${min}`, ready: (at: string): string => `ready at ${at}`,
    waited: "waited", done_all: "All is done.", left: (n: number): string => n === 1 ? "One step is left." : `${n} steps are left.`, grit: (grit: string): string => `paper ${grit}`,
    outside: "Phone, scale and hotspot are ignition sources. Keep them outside of the place where solvent is sprayed or wiped.",
    cure: (days: string): string => `Full cure: ${days}`, minutes: (n: number): string => n < 90 ? `${n} min` : n < 2880 ? `${Math.round(n / 6) / 10} h` : `${Math.round(n / 1440)} days`,
    rest: "The steps that follow", unticked: (step: string): string => `Taken back: ${step}`,
};

export const check = {
    how: "Read the repair and, beside it, the sound part: several spots, once dry and coated.", spot: "Spot", spot_name: "Where", spot_hint: "front edge, by the seam",
    sound: "Sound part", repair: "Repair", file: "Instrument's file", lab: "or L, a, b", lab_hint: "52.1, 24.3, 30.8",
    gloss: "Gloss at 60 degrees, sound and repair", gloss_unit: "GU", gloss_hint: "12.0, 11.4, or empty when no meter is there", add: "Another spot", edge: "Where the repair ends", edges: {within: "inside the panel", panel: "at the panel's edge", fade: "fades out"},
    send: "Check it", again: "Check again", pass: "It holds", fail: "It does not hold yet", unsure: "It cannot be told from these readings",
    by_eye: "Without an instrument", eye_how: "Stand where the customer will sit. Look under each light, square and along the surface.",
    lights: {day: "daylight", lamp: "lamp", shop: "shop light"}, eye: {hidden: "I cannot find it", seen: "I can find it"}, eye_send: "Keep what I saw",
    eye_hidden: "By eye: not found", eye_seen: "By eye: it can be found", eye_note: (found: string): string => `By eye: ${found}`, need: "Each spot needs a reading of the sound part and one of the repair.", figures: "The figures",
    back_to_dabs: "Back to the dabs", so_far: (n: number, of: number): string => `${n} of ${of} pieces hold`, remembered: (name: string): string => `read from ${name}`, spots: "Spots", light: "Light", of: (de00: string, most: string): string => `${de00} of ${most} dE00`,
    names: {lab: "as read", D65: "daylight", A: "lamp", FL11: "shop light", FL2: "office light", D50: "warm daylight", "LED-B3": "LED light"} as Record<string, string>,
};

export const handover = {
    photos: "Photographs of the finished piece", remark: "What the customer should know", remark_hint: "May stay empty: care and curing are in the record already.",
    make: "Make the record", again: "Make it once more", save: "Save the record as PDF", to_check: "To the final check", even_so_or: "Check it first; or hand it over even so: the record will say it.", even_so: "Hand it over even so",
    made: (at: string): string => `Made on ${at}.`, calendar: "Its days for the calendar", invoice: "Invoice", invoice_number: (n: number): string => `Invoice ${n}`, hours: "Hours worked", hours_hint: "Left empty: the lower figure of the quote.",
    extra: "Agreed beyond the quote", extra_hint: "One on each line: second arm = 80. Left empty: nothing.", takes_back: (n: number, of: number): string => `Invoice ${n} takes invoice ${of} back`,
    take_back: (n: number): string => `Take invoice ${n} back`, take_back_how: "An invoice stays in the book. Another one, with a number of its own, takes it back; then it can be made anew.", not_billed: "The customer said yes to the price, and no invoice is made yet.",
    make_invoice: "Make the invoice", save_invoice: (n: number): string => `Save invoice ${n} as PDF`, no_quote: "An invoice needs a quote that the customer said yes to.",
    keep: "In the book of finishes", keep_how: "So that the same finish can be made again next year. What was poured is there by itself; say what you call it.", rename: "Call it so", keep_name: "What it is called", keep_send: "Keep this finish",
    kept: (name: string): string => `${name} is in the book.`, end: "The piece is with the customer: end the job", ended: "The job has ended.", no_pot: "No recipe was made in this job.",
};

export const shelf = {
    none: "The shelf is empty. It is made from sprayed cards that were measured, or from what stands on the labels.",
    left: (g: string): string => `${g} left`, out: "none left", no_bottle: "no bottle in the book", low: "running low", lot: "Lot", expires: (day: string): string => `use before ${day}`, expired: (day: string): string => `past its day, ${day}`,
    frozen: "has been frozen", frost_unknown: "frost not known", receive: "A bottle came in", which: "Which toner", lot_name: "Lot on the bottle", lot_g: "What is in it", lot_day: "Day on the bottle",
    warn: "Tell me when less than this is left", frost: "Was it frozen on the way", frosts: {no: "no", yes: "yes", unknown: "I do not know"}, put: "Put it on the shelf",
    count: "What is left in it", reason: "Why it differs", reasons: {counted: "counted", spilt: "spilt", thrown: "thrown away", other: "something else"}, set: "Set it", no_lots: "No bottle of it yet.",
    sheet: "Safety data sheet", sheet_have: "There is one.", sheet_none: "There is none yet.", sheet_add: "Keep a sheet", sheet_day: "Day on the sheet",
    roles: {binder: "binder", white: "white", black: "black", colour: "colour"} as Record<string, string>,
    teach: "Teach the shelf", measured: "From sprayed cards that were measured", measured_how: "The file of your instrument: one film on each row, with the grams of each toner, over its backing.",
    choose: "The file of the measured cards", about: "First, when you have one: the file of names, prices and lots", fitted: "What the bench learnt", keep: "Make this the shelf", kept: "This is the shelf now.",
    doubted: "Films that it does not believe", a_lot_expired: "a bottle is past its day", labels: "From what stands on the labels", labels_label: "Toners and their pigments", labels_how: "For the first day without an instrument. Each on its own line: name=pigment of the label.",
    labels_hint: "white=PW6, brown=yellow-oxide+warm-black", start: "Begin with these", since: (at: string): string => `As it is since ${at}.`, back: "Shelf", lots: "Bottles", paper: "Save its swatches as PDF",
};

export const book = {
    none: "No finish is in the book yet. Each job can leave one there, when it is handed over.", none_such: "None like that.", words: "Words of its name or of what it was for",
    near: "Near a colour", near_file: "Reading from the instrument", near_lab: "or L, a, b", find: "Find", all: "The newest",
    away: (d: string): string => `${d} away`, same: "hardly to be told apart", close: "close", far: "some way off", made: (at: string): string => `made on ${at}`, invented: "invented for the demo",
    patch: (name: string): string => `Colour of ${name}`,
    pour: "Make it again", for_job: "For which job", for_colour: "For which colour of it", into: "Take it as the recipe", no_jobs: "There is no open job. Open one first.", parts: "What is in it", back: "Book",
    found: (n: number): string => n === 1 ? "One finish" : `${n} finishes`,
};

export const settings = {
    devices: "Devices that are let in", this_one: "this one", since: (at: string): string => `since ${at}`, send_away: "Send away",
    refused: (n: number, at: string): string => `Since the bench was started ${n === 1 ? "one request of a stranger was refused" : `${n} requests of strangers were refused`}, the last ${at}. If that was none of you, somebody in your network is trying doors.`, seen: (at: string): string => `last here ${at}`, forget_find: "Name of the customer, or a part of it", gone: (name: string): string => `${name} is sent away. It cannot come back without new figures.`,
    add: "Add a device", add_how: "Open this address on it, on the same network, and type the figures.", minutes: (n: number): string => `They hold for ${n} minutes.`,
    only_here: "The bench listens on this machine only. To let a phone in, start it with the address of this machine in your network:", only_here_how: "russet serve --listen ADDRESS",
    fingerprint: "Fingerprint of the certificate", fingerprint_how: "The phone warns once, because the bench made its certificate itself. Compare the figures before you go on.",
    qr: "The address as a picture for the phone's camera", backup: "Backup", backup_how: "The whole shop, book and photographs, in one file. Keep it on another machine.", backup_make: "Save a backup",
    backup_made: "Saved. russet shop restore makes a shop of it.", check: "Look whether all is sound", checked: "Book and photographs are sound.", prices: "Your prices",
    forget: "Forget a customer", forget_how: "Name, address and telephone go, from the book and the photographs' notes; recipes stay. It cannot be taken back.", forget_which: "Which customer",
    forget_send: (name: string): string => `Forget ${name}`, forget_sure: "Yes, forget for good", forgotten: "Forgotten.", about: "About", version: (v: string): string => `russet ${v}`,
    offline: "Nothing here needs the internet, and nothing leaves this machine.", walk: "Walk through a job", customers_none: "No customer of that name is in the book.",
};

export const shop = {
    title: "The shop",
    parts: {
        prices: {title: "Your prices", about: "an hour, overhead, margin, tax"}, lists: {title: "Price lists", about: "fixed prices of trade customers"},
        tasks: {title: "Minutes and guarantee", about: "of each task"}, customers: {title: "Customers", about: "how they are reached, and their list"}, zone: {title: "Time zone", about: "in which days are counted"},
    },
    zone: "Another time zone", zone_hint: "As Europe/Vienna.", zone_how: "Promised days, quotes and guarantees begin and end at its midnight.", zone_of_machine: "As the machine says that runs the bench.", zone_said: "As you said.",
    zone_here: (zone: string): string => `Take this device's: ${zone}`, zone_machine: "As the machine says again", zone_utc: "A machine that says UTC is often just not told where it stands.",
    tasks_how: "Quotes are reckoned from these minutes, and the record tells the guarantee. Low, likely and high: nobody knows the hours before.",
    goes_by: {once: "Once in a job.", m2: "Once, and by the area.", dm: "Once, and by the length of cracks and cuts.", spot: "Once, and for each spot.", colour: "Once, and for each colour.", "coat m2": "Once, and by the area of every coat."} as Record<string, string>,
    one_of: {m2: "square metre", dm: "10 cm of crack", spot: "spot", colour: "colour", "coat m2": "square metre of a coat"} as Record<string, string>,
    task_own: "The minutes are your own.", fixed: "Once", each: (of: string): string => `For each ${of}`, three_hint: "Low; likely; high.",
    months: "Guarantee", months_unit: "months", months_hint: "0 for none.", excluded: "What the guarantee does not cover", usual: "Back to the usual ones",
    lists_how: "A customer of the trade may have fixed prices. What stands in the list replaces the hours of that task; the rest goes by the hour.", no_lists: "No list yet.",
    new_list: "Name of the list", new_list_hint: "As you call those customers: garage, upholsterer.", another_list: "A new list", begin_list: "Begin it", list_taken: "There is a list of that name.",
    list_begun: (name: string): string => `${name}: it is in the book with its first price. Open a task and say it.`, list_of: (names: string[]): string => `For ${names.join(", ")}.`, list_of_none: "No customer goes by it yet. Say so with the customer.",
    by_hour: "by the hour", by_hour_again: "By the hour again", since: (day: string): string => `since ${day}`, amount: "What is asked", per: "For what", pers: {job: "a job", m2: "a square metre", dm: "10 cm of crack", spot: "a spot", colour: "a colour"} as Record<string, string>,
    from: "From which day", from_hint: "Left empty: today. One that is to come is in the book and counts from then.", why: "Why", km: "A kilometre of the way", call_out: "For coming",
    name: "Name, as it stands on papers", about: "What is worth knowing", trade: "Of the trade", trades: {no: "no", yes: "yes"}, price_list: "Quotes are made by", add_customer: "Put them in the book", new_customer: "A new customer", more_customers: "There are more. Type a part of the name.",
};

export const walk = {
    offer: "New here? A walk of five minutes through a job that is half done.", start: "Take the walk", end: "End the walk", next: "Next", last: "Done", at: (n: number, of: number): string => `Walk ${n} of ${of}`,
    label: "The walk", not_now: "Not now",
    demo: "The demo's shop", demo_offer: "New here? The demo's shop has a job that is half done, a shelf and a book of finishes, all invented. A walk of five minutes leads through it. Your own shop stays as it is.",
    demo_open: "Open the demo's shop", demo_leave: "Back to my shop", demo_is: "This is the demo's shop. Everything in it is invented.",
    making: "The demo's shop is being made. That takes some seconds, once.",
    stops: {
        job: "A job is a path. What is done is filled; what comes next stands large at the top. You can leave it at any place: it stays as it is.",
        look: "The first look: photographs, the airbag question before all else, then what is wrong. From it come the steps, the cautions and the price.",
        quote: "The price is a range, because nobody knows the hours before. It can stand beside the price of a new part.",
        colour: "The colour of the sound spot that the repair will border. The ground of the screen is that colour; nothing else here has one.",
        recipe: "A recipe is a pot drawn to scale, out of your own toners. One sentence says how it hides and where it is weakest.",
        pour: "Pouring fills the same pot to the next line. One large figure is what the scale should say.",
        dabs: "Dabs are held to the part, dry and coated. What you see or measure becomes what to add.",
        check: "The final check compares repair and sound part, spot by spot, under three lights.",
        handover: "The record for the customer, with care and proof; and the finish goes into the book.",
        shelf: "The shelf: what is left of each toner, and the bottles it is in.",
        book: "The book of finishes: find by colour what was made before, and make it again.",
    } as Record<string, string>,
};
