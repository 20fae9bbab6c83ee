// Keeps this phone's entries together with the others': tells other tabs, and
// has the engine exchange entries with the server. How that stands the engine
// says, in its screens and when asked for that part of them.

import { ask, engine, holds, onAwake, setHolds, tell } from "./ask.js";
import { hasUnsaved, notice, onSaved, refresh, setOutdated, swapParts } from "./screen.js";
import { askToLast } from "./storage.js";

const OTHER = "/setup/ledger"; // where it is said what to do about another ledger
const WAITS = [5, 15, 60, 300]; // seconds after each failure in a row

const tabs = self.BroadcastChannel ? new BroadcastChannel("dampstone") : null;
let running = false;
let again = false;
let failures = 0;
let timer = 0;

/** Exchanges entries with the server, soon; never twice at a time. */
export async function sync() {
  clearTimeout(timer);
  if (engine.state !== "awake" || navigator.onLine === false) {
    say();
    return;
  }
  if (running) {
    again = true;
    return;
  }
  running = true;
  try {
    do {
      again = false;
      await withLock(round);
    } while (again);
  } finally {
    running = false;
    say();
  }
}

// One tab at a time, where the browser can arrange that. Without, two tabs
// may send the same entry, which the server takes once.
function withLock(f) {
  return navigator.locks ? navigator.locks.request("dampstone-sync", f) : f();
}

async function round() {
  let ok = false;
  try {
    const result = await tell({ kind: "sync" });
    ok = result.ok;
    if (result.refused > 0) notice("quarantine");
    if (result.restart) restart();
    else if (result.other) {
      notice("other", undefined, OTHER);
      if (location.pathname === OTHER) refresh();
    }
    if (result.added > 0) {
      setHolds(true);
      tabs?.postMessage("changed");
      refresh();
    }
  } catch (err) {
    console.warn("sync", err);
  }
  if (ok) failures = 0;
  else timer = setTimeout(sync, WAITS[Math.min(failures++, WAITS.length - 1)] * 1000);
}

// Another ledger that this browser has is to be shown; not while somebody
// types.
function restart() {
  setHolds(false); // it may be empty
  tabs?.postMessage("changed");
  if (hasUnsaved()) setOutdated();
  else location.reload();
}

function syncFromStart() {
  failures = 0;
  sync();
}

// Has the screen say how it stands.
async function say() {
  if (engine.state !== "awake") return;
  try {
    swapParts((await ask({ url: "/setup", headers: { "Dampstone-Part": "exchange" } })).body);
  } catch (err) {
    console.warn("say how it stands", err);
  }
}

// ---- a browser that cleared the database ----

function lookForLoss() {
  if (!engine.canSave) return;
  if (engine.entries > 0) setHolds(true);
  else if (holds()) {
    notice("evicted");
    setHolds(false);
  }
}

// ---- after a save ----

function afterSave({ wrote }) {
  if (wrote) {
    setHolds(true);
    tabs?.postMessage("changed");
    askToLast(); // there is something to lose now
  }
  syncFromStart();
}

async function takeChanges() {
  if (engine.state !== "awake") return;
  try {
    const { added } = await tell({ kind: "refresh" });
    if (added > 0) refresh();
  } catch (err) {
    console.warn("refresh", err);
  }
  say();
}

/** Starts listening. */
export function start() {
  onAwake(lookForLoss);
  onAwake(syncFromStart);
  onSaved(afterSave);
  if (tabs) tabs.onmessage = takeChanges;
  window.addEventListener("online", syncFromStart);
  window.addEventListener("offline", say);
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden) takeChanges().then(syncFromStart);
  });
  document.addEventListener("click", (event) => {
    if (event.target.closest?.("[data-sync-now]")) syncFromStart();
  });
}
