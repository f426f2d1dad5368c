// Names that come from the office's tables, in the language of whoever reads them where that language has them.

import { has, t } from "../core/i18n.js";

const word = (key, name) => (has(key) ? t(key) : name);

export const methodName = (method) => word(`method.${method.code}`, method.name);
export const stepName = (step) => word(`step.${step.code}`, step.name);
export const formName = (form) => word(`form.${form.code}`, form.name);
export const documentName = (kind) => word(`label.document.${kind}`, kind);
export const mayReason = (why) => word(`people.why.${why}`, why);
export const orderState = (state) => word(`today.state.${state}`, state);
