// State a closed order anew, and say why.
import { closingPage } from "../parts/closing_page.js";

export function render(root, params, app) {
  return closingPage(root, params.id, app, { isAmending: true });
}
