// Keeps this phone's entries together with the others': tells other tabs, and
// has the engine exchange entries with the server. The screens say how it
// stands in [data-sync].

import { engine, holds, onAwake, setHolds, tell } from "./ask.js";
import { hasUnsaved, notice, onSaved, onShown, refresh, setOutdated } from "./screen.js";
import { askToLast } from "./storage.js";

const OTHER = "/setup/ledger"; // where it is said what to do about another ledger
const FULL = { "share-used-up": "share", "share-of-the-day-used-up": "today" }; // else the server has no room
const WAITS = [5, 15, 60, 300]; // seconds after each failure in a row

const tabs = self.BroadcastChannel ? new BroadcastChannel("dampstone") : null;
let running = false;
let again = false;
let failures = 0;
let reached = true; // the server answered last time
let status = 0; // what the server answered where it was no success
let code = ""; // and the reason it gave
let nearly = false; // the person's share of the server is nearly used up
let timer = 0;

/** Exchanges entries with the server, soon; never twice at a time. */
export async function sync() {
  clearTimeout(timer);
  if (engine.state !== "awake" || navigator.onLine === false) {
    paint();
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
    paint();
  }
}

// One tab at a time, where the browser can arrange that. Without, two tabs
// may send the same entry, which the server takes once.
function withLock(f) {
  return navigator.locks ? navigator.locks.request("dampstone-sync", f) : f();
}

async function round() {
  try {
    const result = await tell({ kind: "sync" });
    reached = result.ok;
    status = result.status;
    code = result.code ?? "";
    nearly = result.nearly;
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
    reached = false;
    status = 0;
    code = "";
  }
  if (reached) {
    failures = 0;
    return;
  }
  timer = setTimeout(sync, WAITS[Math.min(failures++, WAITS.length - 1)] * 1000);
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

// ---- how it stands ----

function paint() {
  const state = !engine.canSave ? "unsaved"
    : status === 401 ? "unpaired"
    : engine.unsent === 0 ? nearly ? "nearly" : "none"
    : status === 507 ? FULL[code] ?? "full"
    : status >= 500 ? "failing"
    : navigator.onLine === false || !reached ? "offline" : "waiting";
  for (const el of document.querySelectorAll("[data-sync]")) {
    el.dataset.syncWaiting = engine.unsent;
    el.dataset.syncState = state;
    if (engine.state !== "awake") continue;
    el.textContent = (el.getAttribute(`data-text-${state}`) ?? "").replace("{n}", engine.unsent);
    if (el.hidden) el.dataset.syncQuiet = ""; // shows only what is worth a word
    // What has the focus stays, or a person at the keys would begin anew.
    if (el.dataset.syncQuiet !== undefined && el !== document.activeElement) el.hidden = state === "none";
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

async function afterSave({ detail: request }) {
  if (request.prefs) return;
  setHolds(true);
  tabs?.postMessage("changed");
  askToLast(); // there is something to lose now
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
  paint();
}

/** Starts listening. */
export function start() {
  onAwake(lookForLoss);
  onAwake(syncFromStart);
  onSaved(afterSave);
  onShown(paint);
  if (tabs) tabs.onmessage = takeChanges;
  window.addEventListener("online", syncFromStart);
  window.addEventListener("offline", paint);
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden) takeChanges().then(syncFromStart);
  });
  document.addEventListener("click", (event) => {
    if (event.target.closest?.("[data-sync-now]")) syncFromStart();
  });
}
