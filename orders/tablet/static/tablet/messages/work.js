// The screens of a day's work, one file a topic.

import field from "./work_field.js";
import map from "./work_map.js";
import order from "./work_order.js";
import safety from "./work_safety.js";
import time from "./work_time.js";
import today from "./work_today.js";
import words from "./work_words.js";

export default { ...field, ...map, ...order, ...safety, ...time, ...today, ...words };
