// Every step with a screen. One line per step: import {add_step} from "./steps" in the noun's own folder, and list it here.
import "../job/steps";
