// Every step with a screen. One line per step: import {add_step} from "./steps" in the noun's own folder, and list it here.
import "../look/look";
import "../quote/quote";
import "../prepare/prepare";
import "../colour/steps";
import "../recipe/steps";
import "../pour/steps";
import "../dabs/steps";
import "../coats/steps";
import "../grain/grain";
import "../sheen/steps";
import "../check/check";
import "../handover/handover";
