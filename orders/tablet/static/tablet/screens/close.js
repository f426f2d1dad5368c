// Close an order: one page from the hours to the name, everything filled in that this tablet knows.
import { closingPage } from "../parts/closing_page.js";

export function render(root, params, app) {
  return closingPage(root, params.id, app, { isAmending: false });
}
