// Mixing, spraying, records, closing and the day sheet, one file a topic.

import apply from "./close_apply.js";
import closing from "./close_closing.js";
import mix from "./close_mix.js";
import record from "./close_record.js";
import sheet from "./close_sheet.js";
import spray from "./close_spray.js";

export default { ...apply, ...closing, ...mix, ...record, ...sheet, ...spray };
