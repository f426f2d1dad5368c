// A photograph made small on the tablet. Drawing it anew leaves out all that the camera wrote beside the picture, the
// place too; a place goes along only where somebody asks for it.

import { queue } from "../core/outbox.js";
import { state } from "../core/state.js";

const TYPE = "image/jpeg";
const QUALITY = 0.82;
const DEFAULT_MAX_PX = 2048;

/** The picture as a small JPEG, upright as it was taken; `maxPx` is its longer side. */
export async function shrunk(file, maxPx) {
  const address = URL.createObjectURL(file);
  try {
    const picture = new Image();
    picture.src = address;
    await picture.decode();
    return await small(picture, maxPx);
  } finally {
    URL.revokeObjectURL(address);
  }
}

async function small(picture, maxPx) {
  const scale = Math.min(1, maxPx / Math.max(picture.naturalWidth, picture.naturalHeight));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(picture.naturalWidth * scale));
  canvas.height = Math.max(1, Math.round(picture.naturalHeight * scale));
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  const blob = await new Promise((resolve) => canvas.toBlob(resolve, TYPE, QUALITY));
  if (!blob) throw new Error("no picture");
  return blob;
}

export async function sha256(blob) {
  const digest = await crypto.subtle.digest("SHA-256", await blob.arrayBuffer());
  return [...new Uint8Array(digest)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** Keep a photograph and its command together; gives its id. `place` is [lon, lat] or null. `writes` go along. */
export async function photoKeep({ file, subject, order = null, about = null, aboutId = null, place = null, writes = () => [] }) {
  const blob = await shrunk(file, state.policy?.photo_max_px ?? DEFAULT_MAX_PX);
  const id = crypto.randomUUID();
  const body = {
    id,
    subject,
    taken_at: new Date().toISOString(),
    content_type: TYPE,
    size_bytes: blob.size,
    sha256: await sha256(blob),
    ...(about && { about, about_id: aboutId }),
    ...(place && { lon: place[0], lat: place[1] }),
  };
  const kept = ["photos", id, { blob, meta: { ...body, order }, sent: 0 }];
  await queue("photo", body, { order, writes: [kept, ...writes(id)] });
  return id;
}
