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
  unsent: 0, // entries that the server has not confirmed
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
const MAX_REDIRECTS = 5;
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
      engine.unsent = message.unsent;
      engine.entries = message.entries;
      performance.measure("engine awake", { start: 0, detail: { ms: message.ms } });
      setState("awake");
      events.dispatchEvent(new Event("awake"));
    } else if (message.kind === "failed") {
      failed(message.reason);
    } else {
      const wait = pending.get(message.n);
      pending.delete(message.n);
      if (message.unsent !== undefined) engine.unsent = message.unsent;
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
 * Asks {method, url, headers, body, type} and follows redirects. The answer is
 * {url, status, type, disposition, bytes, by, saved, restart}: by is "engine" or
 * "network", saved tells whether a post was accepted, restart that the
 * document has to be loaded anew.
 */
export async function ask(request) {
  request = { method: "GET", headers: {}, body: null, ...request };
  if (engine.state === "asleep" && !shell) {
    // The server made this document a moment ago, so it is nearer than an
    // engine that may still be on its way. A post is not tried twice: the
    // server may have it although its answer was lost.
    try {
      return await askNetwork(request);
    } catch (err) {
      if (request.method !== "GET") throw err;
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

async function askEngine(request) {
  let { method, body } = request;
  let url = new URL(request.url, location.href);
  let saved = false;
  let restart = false;
  for (let i = 0; i <= MAX_REDIRECTS; i++) {
    const headers = {
      Accept: "text/html",
      "Accept-Language": navigator.languages.join(","),
      ...request.headers,
    };
    if (prefs.text()) headers.Cookie = `prefs=${prefs.text()}`;
    if (body) headers["Content-Type"] = request.type;
    const bytes = body ? new Uint8Array(await body.arrayBuffer()) : null;
    const answer = await tell({ kind: "ask", method, url: url.href, headers, body: bytes }, bytes ? [bytes.buffer] : []);
    const head = new Map(answer.headers.map(([k, v]) => [k.toLowerCase(), v]));
    for (const [k, v] of answer.headers) {
      if (k.toLowerCase() === "set-cookie") prefs.keepFromHeader(v);
    }
    if (method === "POST" && answer.status < 400) saved = true;
    if (head.has("dampstone-restart")) restart = true;
    const to = head.get("location");
    if (answer.status < 300 || answer.status >= 400 || !to) {
      return {
        url: url.href, status: answer.status, type: head.get("content-type") ?? "",
        disposition: head.get("content-disposition") ?? "", bytes: answer.body, by: "engine", saved, restart,
      };
    }
    const hash = url.hash;
    url = new URL(to, url);
    if (!url.hash) url.hash = hash;
    if (answer.status !== 307 && answer.status !== 308) [method, body] = ["GET", null];
  }
  throw new Error("too many redirects");
}

async function askNetwork(request) {
  const { method, body } = request;
  const headers = { Accept: "text/html", ...request.headers };
  if (body) headers["Content-Type"] = request.type;
  try {
    const answer = await fetch(request.url, {
      method, headers, body, credentials: "same-origin", cache: "no-store",
      signal: AbortSignal.timeout?.(TIMEOUT[method] ?? TIMEOUT.POST),
    });
    const bytes = await answer.arrayBuffer();
    prefs.keepFromCookie();
    return {
      url: answer.url, status: answer.status, type: answer.headers.get("content-type") ?? "",
      disposition: answer.headers.get("content-disposition") ?? "", bytes, by: "network",
      saved: method === "POST" && answer.status < 400,
    };
  } catch (err) {
    throw new Unreachable(err);
  }
}
