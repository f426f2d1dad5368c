// The outbox to the office, oldest first. A row leaves in the same transaction in which its answer is kept.

import { tell } from "./news.js";
import { stop } from "./session.js";
import { asked, keys, transact } from "./store.js";
import { Refused, Unreached, ask } from "./wire.js";
import { VERSION } from "./version.js";

const BATCH = 50;
const DONE = "applied"; // any other state is kept to be shown; a waiting one is decided later

function head(count) {
  return transact(["outbox"], (transaction) => asked(transaction.objectStore("outbox").getAll(null, count)), "readonly");
}

function bare({ queued_at: _, ...envelope }) {
  return envelope;
}

/** Keep the answers to these rows, and those to earlier ones that had to wait; gives how many rows were answered. */
async function keep(rows, answers, later) {
  const byId = new Map(answers.map((answer) => [answer.id, answer]));
  const answered = rows.filter((row) => byId.has(row.id));
  await transact(["outbox", "answers"], async (transaction) => {
    const kept = transaction.objectStore("answers");
    for (const row of answered) {
      note(kept, byId.get(row.id), bare(row));
      transaction.objectStore("outbox").delete(row.seq);
    }
    for (const answer of later) {
      const before = await asked(kept.get(answer.id));
      note(kept, answer, before?.envelope ?? null);
    }
  });
  return answered.length;
}

function note(kept, answer, envelope) {
  if (answer.state === DONE) kept.delete(answer.id);
  else kept.put({ id: answer.id, answer, envelope, at: new Date().toISOString() }, answer.id);
}

async function sent(rows) {
  const waiting = (await keys("outbox")).length - rows.length;
  return ask("/tablet/sync/commands", { sent_at: new Date().toISOString(), app_version: VERSION, waiting, commands: rows.map(bare) });
}

/** One row alone is too much for the office: its answer is that it cannot be read; its content stays here. */
function tooLarge(row, refused) {
  return { answers: [{ id: row.id, seq: row.seq, state: "unreadable", code: "too_large", message: refused.message, errors: [], flags: [] }] };
}

async function batch(count) {
  const rows = await head(count);
  if (!rows.length) return { done: true };
  try {
    return { rows, told: await sent(rows) };
  } catch (error) {
    if (!(error instanceof Refused) || error.status !== 413) throw error;
    return rows.length === 1 ? { rows, told: tooLarge(rows[0], error) } : { smaller: Math.ceil(rows.length / 2) };
  }
}

/** Send until nothing waits. */
export async function drain() {
  let count = BATCH;
  for (;;) {
    const { done, smaller, rows, told } = await batch(count);
    if (done) return;
    if (smaller) {
      count = smaller;
      continue;
    }
    if (!Array.isArray(told.answers) || !(await keep(rows, told.answers, told.later ?? []))) throw new Unreached("no answers");
    count = BATCH;
    tell("unsent-changed");
    if (told.device?.revoked) {
      await stop("revoked");
      return;
    }
  }
}
