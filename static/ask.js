// Asks the application: the engine on this device, or the server where the
// engine cannot be had. Both give the same answers.

import assets from "./assets.js";
import * as prefs from "./prefs.js";

/** "bank" or "blank" on a document from the release, "" on one from the server. */
export const shell = document.documentElement.dataset.shell ?? "";

/** What is known about the engine. */
export const engine = {
  state: "asleep", // then "awake" or "failed"
  canSave: true, // false where the browser gives no lasting storage
  entries: 0, // entries on this device when the engine woke
};

/** No answer could be had. The server may have a form all the same, and counts it once. */
export class Unreachable extends Error {
  constructor(cause) {
    super("nothing answers", { cause });
  }
}

// A browser short of room clears databases, but not cookies. So a cookie says
// that there were entries here; without them, that they were taken away.
const HELD = "held";

/** Tells whether there were entries in the database that is shown. */
export function holds() {
  return document.cookie.split("; ").includes(`${HELD}=1`);
}

/** Remembers that there are entries, or that another database is shown. */
export function setHolds(yes) {
  document.cookie = `${HELD}=${yes ? 1 : ""}; path=/; max-age=${yes ? 400 * 24 * 3600 : 0}; samesite=strict`;
}

const MAX_RESTARTS = 2;
const PATIENCE = 20_000; // ms until a kept engine that does not wake counts as failed
const TIMEOUT = { GET: 10_000, POST: 20_000 }; // ms

let worker = null;
let restarts = 0;
let count = 0;
const pending = new Map(); // number of a message -> how to settle it
const events = new EventTarget();

let settle;
let settled = new Promise((resolve) => { settle = resolve; }); // when state leaves "asleep"

/** Calls f when the engine wakes, also after a restart. */
export function onAwake(f) {
  events.addEventListener("awake", f);
}

/** Starts the engine. pageScript is the address of the page's own script. */
export function start(pageScript) {
  const path = (u) => new URL(u, location.href).pathname;
  try {
    worker = new Worker(assets["engine.js"], { name: "dampstone" });
  } catch (err) {
    failed(err);
    return;
  }
  worker.onerror = (event) => failed(event.message);
  worker.onmessage = ({ data }) => receive(data);
  worker.postMessage({ kind: "start", held: holds(), urls: { ...assets, "page.js": path(pageScript) } });
  // On a first visit it may be on its way for long, which is no failure.
  if (shell) setTimeout(() => engine.state === "asleep" && setState("failed"), PATIENCE);

  function receive(message) {
    if (message.kind === "awake") {
      engine.canSave = message.canSave;
      engine.entries = message.entries;
      performance.measure("engine awake", { start: 0, detail: { ms: message.ms } });
      setState("awake");
      events.dispatchEvent(new Event("awake"));
    } else if (message.kind === "failed") {
      failed(message.reason);
    } else {
      const wait = pending.get(message.n);
      pending.delete(message.n);
      if (message.error) wait?.reject(new Error(message.error));
      else wait?.resolve(message);
    }
  }

  function failed(reason) {
    console.error("engine", reason);
    worker?.terminate();
    worker = null;
    for (const wait of pending.values()) wait.reject(new Error("engine failed"));
    pending.clear();
    if (engine.state === "awake" && restarts < MAX_RESTARTS) {
      restarts++;
      settled = new Promise((resolve) => { settle = resolve; });
      setState("asleep");
      start(pageScript);
    } else {
      setState("failed");
    }
  }
}

function setState(state) {
  engine.state = state;
  document.documentElement.dataset.engine = state;
  if (state !== "asleep") settle();
}

/** Sends the engine a message and waits for its reply. */
export function tell(message, transfer = []) {
  return new Promise((resolve, reject) => {
    if (!worker) {
      reject(new Error("no engine"));
      return;
    }
    const n = ++count;
    pending.set(n, { resolve, reject });
    worker.postMessage({ ...message, n }, transfer);
  });
}

/**
 * Asks {method, url, headers, body, type}. The answer, after redirects, is
 * {url, status, type, disposition, body, by, saved, wrote, restart}: by is
 * "engine" or "network", saved tells whether a post was accepted, wrote that
 * the ledger on this device has grown, restart that the document has to be
 * loaded anew.
 */
export async function ask(request) {
  request = { method: "GET", headers: {}, body: null, ...request };
  request.url = new URL(request.url, location.href).href;
  request.headers = { Accept: "text/html", ...request.headers };
  if (request.body) request.headers["Content-Type"] = request.type;
  if (engine.state === "asleep" && !shell) {
    // The server made this document a moment ago, so it is nearer than an
    // engine that may still be on its way. A form counts once whoever has it,
    // so both may get it.
    try {
      return await askNetwork(request);
    } catch (err) {
      console.warn("network", err);
    }
  }
  await settled;
  if (engine.state === "awake") {
    try {
      return await askEngine(request);
    } catch (err) {
      if (request.method !== "GET") throw new Unreachable(err);
    }
  }
  return askNetwork(request);
}

async function askEngine({ method, url, headers, body }) {
  headers = { "Accept-Language": navigator.languages.join(","), ...headers };
  if (prefs.text()) headers.Cookie = `prefs=${prefs.text()}`;
  const bytes = body ? new Uint8Array(await body.arrayBuffer()) : null;
  const answer = await tell({ kind: "ask", method, url, headers, body: bytes }, bytes ? [bytes.buffer] : []);
  prefs.keep(answer.prefs);
  return { ...answer, by: "engine" };
}

async function askNetwork({ method, url, headers, body }) {
  try {
    const answer = await fetch(url, {
      method, headers, body, credentials: "same-origin", cache: "no-store", signal: AbortSignal.timeout?.(TIMEOUT[method]),
    });
    const head = (name) => answer.headers.get(name) ?? "";
    const bytes = await answer.arrayBuffer();
    prefs.keepFromCookie();
    return {
      url: answer.url, status: answer.status, type: head("content-type"), disposition: head("content-disposition"),
      body: bytes, by: "network", saved: method === "POST" && answer.status < 400,
    };
  } catch (err) {
    throw new Unreachable(err);
  }
}
