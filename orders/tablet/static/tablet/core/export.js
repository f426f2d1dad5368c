// What was not sent, as one file that the office can bring in: commands as they are, photos within.

import { session } from "./session.js";
import { all } from "./store.js";
import { VERSION } from "./version.js";

function base64(blob) {
  return new Promise((resolve, reject) => {
    const reader = new FileReader();
    reader.onload = () => resolve(reader.result.slice(reader.result.indexOf(",") + 1));
    reader.onerror = () => reject(reader.error);
    reader.readAsDataURL(blob);
  });
}

async function photo({ blob, meta }) {
  return { id: meta.id, content_type: meta.content_type, sha256: meta.sha256, base64: await base64(blob) };
}

/** A command that was too large to be sent is in it, too: its content is nowhere else. */
export async function exported() {
  const [rows, photos, answers] = await Promise.all([all("outbox"), all("photos"), all("answers")]);
  const unsent = rows.map(({ queued_at: _, ...envelope }) => envelope);
  const unread = answers.filter(({ answer, envelope }) => envelope && answer.code === "too_large");
  const told = {
    fencerow: "unsent work",
    version: 1,
    device: session.device?.id ?? null,
    device_name: session.device?.name ?? "",
    exported_at: new Date().toISOString(),
    app_version: VERSION,
    commands: [...unread.map(({ envelope }) => envelope), ...unsent],
    photos: await Promise.all(photos.filter((row) => !row.sent).map(photo)),
  };
  return new Blob([JSON.stringify(told)], { type: "application/json" });
}

/** Hand a file to the person: the browser's own way of saving. */
export function save(blob, name) {
  const address = URL.createObjectURL(blob);
  const link = document.createElement("a");
  Object.assign(link, { href: address, download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}
