// All messages in one table; a file more is a line more here.

import close from "./close.js";
import core from "./core.js";
import coreScreens from "./core_screens.js";
import kinds from "./kinds.js";
import work from "./work.js";

export default { ...core, ...coreScreens, ...kinds, ...work, ...close };
