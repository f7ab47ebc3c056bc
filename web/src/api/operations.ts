// Made by `russet --page-types` from the table of operations; do not edit. ./test compares.

type One = string | number;
type Many = One | One[];
/** Of an empty field; where the operation needs it, the program says so in a sentence. */
type Left = null | undefined;

/** What each operation of `russet --help` takes. */
export interface Asked {
    "reading": {
        "FILE"?: Many | Left;
        "--lab"?: One | Left;
        "--seams-mm"?: One | Left;
        "--geometry"?: "sci" | "sce" | "45-0" | "photo" | Left;
        "--illuminant"?: One | Left;
        "--observer"?: "10" | "2" | Left;
        "--lamp"?: One | Left;
    };
    "compare": {
        "A"?: One | Left;
        "B"?: One | Left;
        "--lab"?: Many | Left;
        "--illuminants"?: One | Left;
        "--observer"?: "10" | "2" | Left;
        "--geometry"?: "sci" | "sce" | "45-0" | "photo" | Left;
        "--lamp"?: One | Left;
    };
    "toners fit": {
        "DRAWDOWNS": One | Left;
        "--about"?: One | Left;
        "--prior"?: One | Left;
        "--geometry"?: "sci" | "sce" | "45-0" | Left;
        "--scale-step"?: One | Left;
    };
    "toners show": {
        "TONERS": One | Left;
    };
    "toners swatch": {
        "TONERS": One | Left;
        "--name"?: One | Left;
    };
    "toners start": {
        "--index": One | Left;
    };
    "predict": {
        "--toners": One | Left;
        "--parts": One | Left;
        "--backing"?: One | Left;
        "--film-um"?: One | Left;
        "--geometry"?: "sci" | "sce" | "45-0" | "photo" | Left;
        "--sheen-gu"?: One | Left;
        "--coat-um"?: One | Left;
    };
    "match": {
        "--toners": One | Left;
        "--target": One | Left;
        "--backing"?: Many | Left;
        "--film-um"?: One | Left;
        "--max-toners"?: One | Left;
        "--binder-fraction"?: One | Left;
        "--batch-g"?: One | Left;
        "--scale-step"?: One | Left;
        "--illuminants"?: One | Left;
        "--lamp"?: One | Left;
        "--weights"?: One | Left;
        "--coat-um"?: One | Left;
        "--old-film-um"?: One | Left;
        "--audit"?: boolean | Left;
        "--require"?: One | Left;
        "--exclude"?: One | Left;
        "--stock"?: One | Left;
        "--minimum-dose"?: One | Left;
        "--most"?: One | Left;
        "--sheen-gu"?: One | Left;
        "--top"?: One | Left;
        "--tolerance"?: One | Left;
        "--geometry"?: "sci" | "sce" | "45-0" | "photo" | Left;
    };
    "pour": {
        "--recipe": One | Left;
        "--batch-g": One | Left;
        "--scale-step"?: One | Left;
        "--scale-repeat-g"?: One | Left;
        "--tolerance"?: One | Left;
        "--poured"?: One | Left;
        "--all-poured"?: boolean | Left;
        "--pot-g"?: One | Left;
        "--taken-g"?: One | Left;
        "--let-downs"?: "auto" | "never" | Left;
        "--name"?: One | Left;
        "--spray-g"?: One | Left;
        "--thinner-percent"?: One | Left;
        "--slip-percent"?: One | Left;
        "--crosslinker-percent"?: One | Left;
        "--crosslinker"?: "unknown" | "isocyanate" | "aziridine" | Left;
        "--scale"?: One | Left;
        "--log"?: One | Left;
        "--pattern"?: One | Left;
        "--baud"?: One | Left;
        "--framing"?: "8n1" | "7e1" | Left;
        "--lines-per-s"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "adjust": {
        "--toners": One | Left;
        "--pot"?: One | Left;
        "--recipe"?: One | Left;
        "--target"?: One | Left;
        "--measured"?: One | Left;
        "--against"?: One | Left;
        "--half"?: One | Left;
        "--half-backing"?: One | Left;
        "--by-eye"?: One | Left;
        "--ring"?: boolean | Left;
        "--nearest"?: One | Left;
        "--ring-step"?: One | Left;
        "--last-ring"?: One | Left;
        "--dab-g"?: One | Left;
        "--backing"?: Many | Left;
        "--film-um"?: One | Left;
        "--pot-g"?: One | Left;
        "--taken-g"?: One | Left;
        "--state"?: "wet" | "dry" | "coated" | Left;
        "--geometry"?: "sci" | "sce" | "45-0" | "photo" | Left;
        "--history"?: Many | Left;
        "--illuminants"?: One | Left;
        "--lamp"?: One | Left;
        "--weights"?: One | Left;
        "--scale-step"?: One | Left;
        "--sheen-gu"?: One | Left;
        "--coat-um"?: One | Left;
        "--exclude"?: One | Left;
        "--tolerance"?: One | Left;
    };
    "toners learn": {
        "--toners": One | Left;
        "--log": Many | Left;
    };
    "amount": {
        "--area-m2": One | Left;
        "--film-um": One | Left;
        "--solids-volume": One | Left;
        "--by"?: "sponge" | "brush" | "airbrush" | "mini-gun" | "gun" | Left;
        "--transfer"?: One | Left;
        "--coats"?: One | Left;
        "--wet-um"?: One | Left;
        "--spare"?: One | Left;
        "--loss-ml"?: One | Left;
        "--density-g-ml"?: One | Left;
        "--thinner"?: One | Left;
        "--thinner-kind"?: "water" | "solvent" | Left;
        "--solvent-density-g-ml"?: One | Left;
        "--edge"?: Many | Left;
        "--fade-length-mm"?: One | Left;
        "--fade-mm"?: One | Left;
        "--blend-coats"?: One | Left;
        "--blend-thinner"?: One | Left;
        "--ground-into-fade-mm"?: One | Left;
        "--recipe"?: One | Left;
        "--in-pot-g"?: One | Left;
        "--film-to-hide-um"?: One | Left;
        "--toners"?: One | Left;
        "--ground"?: One | Left;
        "--around"?: One | Left;
        "--old-film-um"?: One | Left;
        "--volatiles"?: One | Left;
        "--water"?: One | Left;
        "--exempt"?: One | Left;
        "--exempt-density-g-ml"?: One | Left;
    };
    "coats": {
        "--area-m2": One | Left;
        "--film-um": One | Left;
        "--solids-volume": One | Left;
        "--by"?: "sponge" | "brush" | "airbrush" | "mini-gun" | "gun" | Left;
        "--transfer"?: One | Left;
        "--coats"?: One | Left;
        "--wet-um"?: One | Left;
        "--spare"?: One | Left;
        "--loss-ml"?: One | Left;
        "--density-g-ml"?: One | Left;
        "--thinner"?: One | Left;
        "--thinner-kind"?: "water" | "solvent" | Left;
        "--solvent-density-g-ml"?: One | Left;
        "--edge"?: Many | Left;
        "--fade-length-mm"?: One | Left;
        "--fade-mm"?: One | Left;
        "--blend-coats"?: One | Left;
        "--blend-thinner"?: One | Left;
        "--ground-into-fade-mm"?: One | Left;
        "--recipe"?: One | Left;
        "--in-pot-g"?: One | Left;
        "--film-to-hide-um"?: One | Left;
        "--toners"?: One | Left;
        "--ground"?: One | Left;
        "--around"?: One | Left;
        "--old-film-um"?: One | Left;
        "--flow"?: One | Left;
        "--fan"?: One | Left;
        "--overlap"?: One | Left;
        "--speed"?: One | Left;
        "--distance"?: One | Left;
        "--pressure"?: One | Left;
        "--panel-mm"?: One | Left;
        "--flash-min"?: One | Left;
        "--air-c"?: One | Left;
        "--rh"?: One | Left;
        "--surface-c"?: One | Left;
        "--pot-life-min"?: One | Left;
        "--mixed-min-ago"?: One | Left;
        "--start"?: One | Left;
        "--title"?: One | Left;
    };
    "air": {
        "--air-c": One | Left;
        "--rh": One | Left;
        "--surface-c": One | Left;
        "--margin-k"?: One | Left;
        "--rh-most"?: One | Left;
        "--surface-least-c"?: One | Left;
        "--surface-most-c"?: One | Left;
    };
    "sheen": {
        "--ladder"?: One | Left;
        "--target-gu"?: One | Left;
        "--angle"?: "20" | "60" | "85" | Left;
        "--coats"?: One | Left;
        "--batch-ml"?: One | Left;
        "--measured"?: Many | Left;
        "--by-eye"?: boolean | Left;
        "--steps"?: One | Left;
        "--between"?: One | Left;
        "--nearest"?: One | Left;
        "--place"?: "seat" | "door" | "dash" | "wheel" | "pedal" | "furniture" | "other" | Left;
        "--from-gu"?: One | Left;
        "--toners"?: One | Left;
        "--recipe"?: One | Left;
        "--colour"?: One | Left;
        "--geometry"?: "sci" | "sce" | "45-0" | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "units": {
        "VALUE": One | Left;
        "UNIT"?: One | Left;
    };
    "shop init": {
        "--demo"?: boolean | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "shop check": {
        "--tidy"?: boolean | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "shop backup": {
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "shop restore": {
        "FILE": One | Left;
        "--replace"?: One | Left;
        "--forget"?: Many | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "shop export": {
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "shop import": {
        "FILE": One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "shop erase-customer": {
        "ID": One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "shop zone": {
        "ZONE"?: One | Left;
        "--unchanged-since"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "job new": {
        "--title": One | Left;
        "--customer"?: One | Left;
        "--telephone"?: One | Left;
        "--email"?: One | Left;
        "--address"?: One | Left;
        "--trade"?: boolean | Left;
        "--piece"?: Many | Left;
        "--colour"?: Many | Left;
        "--place"?: One | Left;
        "--words"?: One | Left;
        "--due"?: One | Left;
        "--return-of"?: One | Left;
        "--cause"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "job add": {
        "JOB": One | Left;
        "--piece"?: One | Left;
        "--material"?: One | Left;
        "--colour"?: One | Left;
        "--off"?: boolean | Left;
        "--role"?: "body" | "second" | "thread" | "piping" | "other" | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "job change": {
        "JOB": One | Left;
        "--title"?: One | Left;
        "--state"?: "open" | "waiting" | "ended" | "declined" | Left;
        "--due"?: One | Left;
        "--place"?: One | Left;
        "--words"?: One | Left;
        "--customer"?: One | Left;
        "--return-of"?: One | Left;
        "--cause"?: One | Left;
        "--clear"?: Many | Left;
        "--unchanged-since"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "job list": {
        "--state"?: "open" | "waiting" | "ended" | "declined" | "bench" | Left;
        "--customer"?: One | Left;
        "--due-until"?: One | Left;
        "--words"?: One | Left;
        "--top"?: One | Left;
        "--skip"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "job show": {
        "JOB": One | Left;
        "--documents"?: boolean | Left;
        "--with-replaced"?: boolean | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "job log": {
        "JOB": One | Left;
        "FILE"?: One | Left;
        "--step"?: "look" | "quote" | "prepare" | "colour" | "recipe" | "pour" | "dabs" | "coats" | "grain" | "sheen" | "check" | "handover" | Left;
        "--piece"?: One | Left;
        "--colour"?: One | Left;
        "--photo"?: Many | Left;
        "--pot"?: One | Left;
        "--note"?: One | Left;
        "--replaces"?: One | Left;
        "--first"?: boolean | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "job load": {
        "--day"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "entry show": {
        "ENTRY": One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "shelf show": {
        "--toners"?: boolean | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "shelf toners": {
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "shelf keep": {
        "TONERS": One | Left;
        "--words"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "shelf ladder": {
        "FILE"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "shelf receive": {
        "TONER": One | Left;
        "--lot": One | Left;
        "--g": One | Left;
        "--expires"?: One | Left;
        "--price"?: One | Left;
        "--currency"?: One | Left;
        "--frost"?: "no" | "yes" | "unknown" | Left;
        "--warn-g"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "shelf count": {
        "LOT": One | Left;
        "--g": One | Left;
        "--reason"?: "counted" | "spilt" | "thrown" | "other" | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "shelf sheet": {
        "TONER": One | Left;
        "FILE": One | Left;
        "--issued"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "shelf drawdowns": {
        "FILE": One | Left;
        "--words"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "shelf copy": {
        "WHAT": One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "pot log": {
        "POT": One | Left;
        "EVENT": "crosslinked" | "taken" | "put-back" | "emptied" | "note" | Left;
        "--g"?: One | Left;
        "--life-min"?: One | Left;
        "--not-crosslinked"?: boolean | Left;
        "--words"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "pot list": {
        "--job"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "finish find": {
        "--near"?: One | Left;
        "--within"?: One | Left;
        "--words"?: One | Left;
        "--top"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "finish keep": {
        "RECIPE": One | Left;
        "--name": One | Left;
        "--words"?: One | Left;
        "--job"?: One | Left;
        "--measured"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "finish name": {
        "FINISH": One | Left;
        "--name"?: One | Left;
        "--words"?: One | Left;
        "--measured"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "finish show": {
        "FINISH": One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "card": {
        "--kind"?: "own" | "frame" | "start" | Left;
        "--toners"?: One | Left;
        "--chart"?: One | Left;
        "--pitch-mm"?: One | Left;
        "--card"?: One | Left;
        "--values"?: One | Left;
        "--batch-g"?: One | Left;
        "--scale-step"?: One | Left;
        "--steps-for"?: "commands" | "page" | Left;
        "--paper"?: "a4" | "letter" | Left;
    };
    "serve": {
        "--port"?: One | Left;
        "--listen"?: One | Left;
        "--scale"?: One | Left;
        "--pattern"?: One | Left;
        "--baud"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "photo colour": {
        "PHOTO": Many | Left;
        "--card": One | Left;
        "--spot"?: Many | Left;
        "--against"?: Many | Left;
        "--corners"?: Many | Left;
        "--second-lamp"?: Many | Left;
        "--toners"?: One | Left;
        "--shine"?: "bare" | "gel" | "polarised" | Left;
        "--like-card"?: boolean | Left;
        "--overlay"?: One | Left;
    };
    "plan": {
        "--craft": One | Left;
        "--place": One | Left;
        "--material": One | Left;
        "--seen"?: One | Left;
        "--damage"?: One | Left;
        "--airbag"?: "yes" | "no" | "unknown" | Left;
        "--fire"?: "none" | "needed" | Left;
        "--look"?: "plain" | "metal" | "pearl" | Left;
        "--mark"?: One | Left;
        "--perforated"?: boolean | Left;
        "--ventilated"?: boolean | Left;
        "--heated"?: boolean | Left;
        "--recoloured"?: "yes" | "no" | "unknown" | Left;
        "--agreed"?: boolean | Left;
        "--edge"?: "break" | "fade" | Left;
        "--by"?: "sponge" | "brush" | "airbrush" | "mini-gun" | "gun" | Left;
        "--crosslinker"?: "none" | "isocyanate" | "aziridine" | "unknown" | Left;
        "--area-m2"?: One | Left;
        "--line-mm"?: One | Left;
        "--spots"?: One | Left;
        "--colours"?: One | Left;
        "--coats"?: One | Left;
        "--flash-min"?: One | Left;
        "--glue-min"?: One | Left;
        "--pot-life-min"?: One | Left;
        "--cure-days"?: One | Left;
        "--air-c"?: One | Left;
        "--rh"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "shop pricing": {
        "--shop"?: One | Left;
        "--now"?: One | Left;
        "--currency"?: One | Left;
        "--hour"?: One | Left;
        "--overhead"?: One | Left;
        "--margin"?: One | Left;
        "--tax"?: One | Left;
        "--tax-rule"?: "line" | "invoice" | Left;
        "--prices"?: "net" | "gross" | Left;
        "--call-out"?: One | Left;
        "--per-km"?: One | Left;
        "--least"?: One | Left;
        "--consumables"?: One | Left;
        "--valid-days"?: One | Left;
        "--pay-days"?: One | Left;
        "--paper"?: "A4" | "Letter" | Left;
        "--name"?: One | Left;
        "--take-back"?: boolean | Left;
        "--unchanged-since"?: One | Left;
        "--line"?: Many | Left;
    };
    "quote": {
        "JOB": One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
        "--materials"?: One | Left;
        "--new-part"?: One | Left;
        "--km"?: One | Left;
        "--call-out"?: boolean | Left;
        "--discount"?: One | Left;
        "--accept"?: boolean | Left;
        "--decline"?: boolean | Left;
        "--show"?: boolean | Left;
    };
    "invoice": {
        "JOB": One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
        "--hours"?: One | Left;
        "--extra"?: Many | Left;
        "--cancel"?: One | Left;
        "--show"?: One | Left;
    };
    "inspect": {
        "JOB": One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
        "--piece"?: One | Left;
        "--colour"?: One | Left;
        "--sound": Many | Left;
        "--repair": Many | Left;
        "--spot"?: Many | Left;
        "--gloss"?: Many | Left;
        "--gloss-u"?: One | Left;
        "--grain-sound"?: One | Left;
        "--grain-repair"?: One | Left;
        "--edge"?: "within" | "panel" | "fade" | Left;
        "--tolerance"?: One | Left;
        "--tolerance-others"?: One | Left;
        "--gloss-tolerance"?: One | Left;
        "--grain-tolerance"?: One | Left;
        "--u"?: One | Left;
        "--illuminants"?: One | Left;
        "--observer"?: "10" | "2" | Left;
        "--geometry"?: "sci" | "sce" | "45-0" | "photo" | Left;
        "--lamp"?: One | Left;
    };
    "handover": {
        "JOB": One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
        "--remark"?: Many | Left;
        "--even-so"?: boolean | Left;
        "--show"?: boolean | Left;
    };
    "job due": {
        "JOB": One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "price list": {
        "LIST"?: One | Left;
        "--day"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "price set": {
        "LIST": One | Left;
        "ITEM": One | Left;
        "AMOUNT"?: One | Left;
        "--per"?: "job" | "m2" | "dm" | "spot" | "colour" | Left;
        "--from"?: One | Left;
        "--currency"?: One | Left;
        "--words"?: One | Left;
        "--unchanged-since"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "task list": {
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "task set": {
        "TASK": One | Left;
        "--fixed"?: One | Left;
        "--each"?: One | Left;
        "--months"?: One | Left;
        "--excluded"?: One | Left;
        "--usual"?: boolean | Left;
        "--unchanged-since"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "customer list": {
        "--words"?: One | Left;
        "--top"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "customer add": {
        "NAME": One | Left;
        "--telephone"?: One | Left;
        "--email"?: One | Left;
        "--address"?: One | Left;
        "--words"?: One | Left;
        "--trade"?: "yes" | "no" | Left;
        "--price-list"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "customer change": {
        "CUSTOMER": One | Left;
        "--name"?: One | Left;
        "--telephone"?: One | Left;
        "--email"?: One | Left;
        "--address"?: One | Left;
        "--words"?: One | Left;
        "--clear"?: Many | Left;
        "--trade"?: "yes" | "no" | Left;
        "--price-list"?: One | Left;
        "--unchanged-since"?: One | Left;
        "--shop"?: One | Left;
        "--now"?: One | Left;
    };
    "photo grain": {
        "PHOTO": Many | Left;
        "--lights": One | Left;
        "--mm-per-px"?: One | Left;
        "--card"?: One | Left;
        "--patch"?: One | Left;
        "--s-filter-mm"?: One | Left;
        "--l-filter-mm"?: One | Left;
        "--light-sd-deg"?: One | Left;
        "--height-out"?: One | Left;
        "--x3p-out"?: One | Left;
        "--relief-out"?: One | Left;
    };
    "grain compare": {
        "A": One | Left;
        "B": One | Left;
    };
    "grain gun": {
        "--log": One | Left;
        "--want": One | Left;
        "--pressure-bar"?: One | Left;
        "--fluid-turns"?: One | Left;
        "--distance-mm"?: One | Left;
        "--viscosity-s"?: One | Left;
        "--coats"?: One | Left;
    };
    "photo damage": {
        "PHOTO": Many | Left;
        "--card"?: One | Left;
        "--mm-per-px"?: One | Left;
        "--panel"?: One | Left;
        "--sound"?: One | Left;
        "--cleaned"?: One | Left;
        "--cleaned-photo"?: Many | Left;
        "--overlay"?: One | Left;
        "--cracks-out"?: One | Left;
        "--loss-out"?: One | Left;
    };
}

export type Verb = keyof Asked;
