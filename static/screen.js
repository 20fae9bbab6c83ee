// Shows screens: takes clicks on links and posts of forms, asks for the answer
// and puts it in place of what stands there, with address, scroll and focus.

import { ask, engine, setHolds, shell, Unreachable } from "./ask.js";
import { fillForm } from "./forms.js";

const PARTS = ["head", "main", "nav"]; // of a document; the rest of the frame stays
const doc = document;
const events = new EventTarget();

let latest = 0; // number of the newest wish to go somewhere
let underway = 0; // wishes of the person that have no answer yet
let refreshing = 0; // screens on their way that nobody asked for
let shown = withoutHash(location.href); // address of what stands on the screen
let swaps = 0; // screens shown on this document
let outdated = false; // another release has taken over, so load anew when going on
const touched = new Set(); // forms with something typed that is not saved yet

/** Calls f after something on the screen was replaced, with its root. */
export function onShown(f) {
  events.addEventListener("shown", (event) => f(event.detail));
}

/** Calls f with the answer after a post was accepted by the engine. */
export function onSaved(f) {
  events.addEventListener("saved", (event) => f(event.detail));
}

/** Calls f before the screen is left or shown anew. */
export function onLeave(f) {
  events.addEventListener("leave", f);
}

export function tellShown(root) {
  events.dispatchEvent(new CustomEvent("shown", { detail: root }));
}

/** Tells whether a person has typed something that a new screen would lose. */
export function hasUnsaved() {
  for (const form of touched) if (!form.isConnected) touched.delete(form);
  return touched.size > 0;
}

/** Makes the next step load the document of the new release. */
export function setOutdated() {
  outdated = true;
}

// ---- notices ----

/** Shows one of the sentences that the frame holds; retry, or a way on, is offered if given. */
export function notice(kind, retry, href) {
  const box = doc.getElementById("notice");
  if (!box) return;
  box.replaceChildren();
  box.dataset.kind = kind;
  const text = kind && box.getAttribute(`data-text-${kind}`);
  box.toggleAttribute("data-shows", Boolean(text));
  if (!text) return;
  const p = doc.createElement("p");
  p.textContent = text;
  box.append(p);
  if (retry) {
    const again = doc.createElement("button");
    again.type = "button";
    again.textContent = box.getAttribute("data-text-again");
    again.addEventListener("click", () => { notice(""); retry(); });
    box.append(again);
  }
  if (href) {
    const way = doc.createElement("a");
    way.className = "button quiet";
    way.href = href;
    way.textContent = box.getAttribute(`data-text-${kind}-go`);
    box.append(way);
  }
}

// What a problem's screen says, over the screen that stands, which keeps what
// was typed.
function noticeProblem(next) {
  const said = next.querySelector("#main [role=alert]");
  const box = doc.getElementById("notice");
  if (!said || !box) return false;
  notice("problem");
  for (const el of [said, ...said.parentElement.querySelectorAll(".hint")]) {
    const p = doc.createElement("p");
    p.textContent = el.textContent.trim();
    box.append(p);
  }
  box.toggleAttribute("data-shows", true);
  box.scrollIntoView({ block: "nearest" });
  announce(said.textContent);
  return true;
}

/** Says which host answered, where that is not as it should be. */
export function noticeBy(answer) {
  if (answer.by === "network" && engine.state === "failed") notice("network");
  else if (!stands()) notice("");
}

// A word about a loss, or about what is kept here alone, stands until the
// person goes on: the screen that was on its way anyway must not wipe it.
function stands() {
  return ["evicted", "quarantine", "other"].includes(doc.getElementById("notice")?.dataset.kind);
}

// ---- going somewhere ----

/**
 * Asks and shows. how is "push" (a step forward), "replace" (the same place
 * again) or "stay" (the address already is right, as when stepping back).
 * scroll is where to stand then, in CSS px from the top; focus is false where
 * the person should stay where they are.
 */
export async function go(request, { how = "push", scroll = 0, focus = true } = {}) {
  const get = (request.method ?? "GET") === "GET";
  if (outdated && get && how !== "stay") {
    location.assign(request.url);
    return;
  }
  const mine = ++latest;
  if (focus) {
    underway++;
    doc.getElementById("main")?.setAttribute("aria-busy", "true");
  }
  if (how === "push") {
    events.dispatchEvent(new Event("leave"));
    rememberScroll();
    if (stands()) notice("");
  }
  try {
    const answer = await ask(request);
    if (answer.saved && answer.by === "engine") events.dispatchEvent(new CustomEvent("saved", { detail: answer }));
    if (mine !== latest) return; // the person has gone on
    if (answer.restart) {
      setHolds(false);
      location.assign(answer.url);
      return;
    }
    if (isFile(answer)) {
      noticeBy(answer);
      saveFile(answer);
      return;
    }
    const next = parse(answer.body);
    if (!get && answer.status >= 500 && noticeProblem(next)) return;
    noticeBy(answer);
    const otherLanguage = next.documentElement.lang !== doc.documentElement.lang;
    if (otherLanguage && swaps > 0) { // the frame has to speak it too
      location.assign(answer.url);
      return;
    }
    if (otherLanguage && !wasReloaded()) { // the worker did not know it yet
      location.reload();
      return;
    }
    swap(next, { keepPlace: !focus });
    const url = tidy(answer.url);
    const rejected = !get && !answer.saved; // the form again, with what is wrong
    if (!rejected) {
      if (how === "push" && withoutHash(url) !== withoutHash(location.href)) history.pushState({}, "", url);
      else history.replaceState(history.state, "", url);
    }
    if (rejected) for (const form of doc.getElementById("main").querySelectorAll("form:not([data-live])")) touched.add(form);
    shown = withoutHash(location.href);
    if (focus) settleAt(rejected ? "" : location.hash, scroll);
  } catch (err) {
    if (mine !== latest) return;
    console.warn("go", request.url, err);
    if (err instanceof Unreachable) notice(navigator.onLine === false || get ? "offline" : "failed", () => go(request, { how, scroll, focus }));
    else notice("failed", get ? () => go(request, { how, scroll, focus }) : undefined);
  } finally {
    if (focus && --underway === 0) doc.getElementById("main")?.removeAttribute("aria-busy");
  }
}

/** Shows the same place anew, unless that would disturb what a person does. */
export async function refresh() {
  const at = doc.activeElement;
  const typing = at?.matches?.("textarea, select, input:not([type=checkbox], [type=radio], [type=range])");
  if (underway > 0 || hasUnsaved() || typing) return;
  events.dispatchEvent(new Event("leave"));
  refreshing++;
  try {
    await go({ url: location.href }, { how: "replace", focus: false });
  } finally {
    refreshing--;
  }
}

// Tells whether this document came by a reload, so that none follows another.
function wasReloaded() {
  return performance.getEntriesByType("navigation")[0]?.type === "reload";
}

// The word about what was just done belongs to the moment, not to the address.
function tidy(href) {
  const url = new URL(href);
  if (url.searchParams.has("did")) {
    url.searchParams.delete("did");
    url.searchParams.delete("n");
  }
  return url.href;
}

function withoutHash(href) {
  return href.split("#")[0];
}

function rememberScroll() {
  history.replaceState({ ...history.state, y: window.scrollY }, "");
}

// ---- swapping ----

function parse(bytes) {
  return new DOMParser().parseFromString(new TextDecoder().decode(bytes), "text/html");
}

function swap(next, { keepPlace }) {
  if (!next.getElementById("main")) throw new Error("answer is no screen");
  const place = keepPlace ? placeOfFocus() : null;
  const y = window.scrollY;
  swaps++;
  doc.documentElement.lang = next.documentElement.lang;
  delete doc.documentElement.dataset.shell;
  doc.title = next.title;
  for (const id of PARTS) put(next.getElementById(id), keepPlace);
  touched.clear();
  if (keepPlace) {
    window.scrollTo(0, y);
    place?.();
  }
  tellShown(doc);
}

/** Replaces the parts of the screen that the fragment holds, each by its id. */
export function swapParts(bytes) {
  const place = placeOfFocus();
  for (const el of [...parse(bytes).body.children]) if (put(el, true)) tellShown(el);
  if (!doc.activeElement || doc.activeElement === doc.body) place?.();
}

// Puts an element in place of the one with its id; false if there is none.
function put(el, keepOpen) {
  const old = el && doc.getElementById(el.id);
  if (!old) return false;
  if (keepOpen) {
    const open = new Set(Array.from(old.querySelectorAll("details[open] > summary"), (s) => s.textContent.trim()));
    for (const s of el.querySelectorAll("details > summary")) if (open.has(s.textContent.trim())) s.parentElement.open = true;
  }
  old.replaceWith(doc.adoptNode(el));
  return true;
}

// A way back to the control that has the focus, after it was replaced.
function placeOfFocus() {
  const at = doc.activeElement;
  if (!at || at === doc.body) return null;
  const same = at.id ? `#${CSS.escape(at.id)}`
    : at.name ? `[name="${CSS.escape(at.name)}"]${at.value && at.type !== "text" ? `[value="${CSS.escape(at.value)}"]` : ""}`
    : at.getAttribute("href") ? `a[href="${CSS.escape(at.getAttribute("href"))}"]` : "";
  return same ? () => doc.querySelector(same)?.focus({ preventScroll: true }) : null;
}

// ---- where to stand ----

function settleAt(hash, scroll) {
  const main = doc.getElementById("main");
  const target = hash.length > 1 && doc.getElementById(decodeURIComponent(hash.slice(1)));
  const wrong = main.querySelector("[data-focus]") ?? firstControl(main.querySelector("[aria-invalid=true]"));
  if (wrong) {
    wrong.focus();
  } else if (target) {
    reveal(target);
    main.focus({ preventScroll: true });
    target.scrollIntoView();
  } else {
    main.focus({ preventScroll: true });
    window.scrollTo(0, scroll);
  }
  const flash = main.querySelector(".flash, [role=alert]");
  announce(flash?.textContent ?? main.querySelector("h1")?.textContent ?? doc.title);
}

function firstControl(el) {
  return el?.matches("fieldset") ? el.querySelector("input, select, textarea, button") : el;
}

/** Opens whatever hides an element. */
function reveal(el) {
  for (let d = el.closest("details"); d; d = d.parentElement.closest("details")) d.open = true;
}

function announce(text) {
  const box = doc.getElementById("announce");
  if (!box) return;
  box.textContent = "";
  // A frame later, so that saying the same thing twice is a change.
  requestAnimationFrame(() => { box.textContent = text.trim(); });
}

// ---- files ----

function isFile(answer) {
  return /^attachment/i.test(answer.disposition) || !/^text\/html/i.test(answer.type);
}

function saveFile(answer) {
  const name = /filename="?([^";]+)"?/i.exec(answer.disposition)?.[1] ?? "dampstone";
  const url = URL.createObjectURL(new Blob([answer.body], { type: answer.type }));
  const a = doc.createElement("a");
  a.href = url;
  a.download = name;
  a.dataset.plain = "";
  a.click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}

// ---- clicks and forms ----

function ours(url) {
  return url.origin === location.origin;
}

function onClick(event) {
  const a = event.target.closest?.("a[href]");
  if (!a || event.defaultPrevented || event.button !== 0 || event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
  if (a.target && a.target !== "_self" || a.hasAttribute("download") && !a.hasAttribute("data-file") || a.hasAttribute("data-plain")) return;
  const url = new URL(a.href, location.href);
  if (!ours(url)) return;
  if (url.hash && withoutHash(url.href) === withoutHash(location.href)) {
    const target = doc.getElementById(decodeURIComponent(url.hash.slice(1)));
    if (target) reveal(target);
    return; // the browser goes there by itself
  }
  event.preventDefault();
  if (a.hasAttribute("data-fresh")) for (const form of doc.forms) if (form.dataset.live) fillForm(form, new URLSearchParams());
  go({ url: url.href });
}

function onSubmit(event) {
  const form = event.target;
  const by = event.submitter;
  if (event.defaultPrevented || form.hasAttribute("data-plain") || form.dataset.live) return;
  const target = by?.getAttribute("formtarget") ?? form.target;
  const url = new URL(by?.getAttribute("formaction") ?? form.getAttribute("action") ?? location.href, location.href);
  if (!ours(url) || target && target !== "_self") return;
  event.preventDefault();
  if (form.hasAttribute("data-sent")) return; // a second tap while the first is on its way
  const data = new FormData(form);
  if (by?.name) data.append(by.name, by.value);
  const method = (by?.getAttribute("formmethod") ?? form.method).toUpperCase();
  if (method !== "POST") {
    url.search = new URLSearchParams(data).toString();
    go({ url: url.href });
    return;
  }
  const sent = new Response(form.enctype === "multipart/form-data" ? data : new URLSearchParams(data));
  const type = sent.headers.get("content-type"); // a Blob's own is in lower case, which breaks a boundary
  form.setAttribute("data-sent", "");
  sent.blob().then((body) => go({ method: "POST", url: url.href, body, type }))
    .finally(() => form.removeAttribute("data-sent"));
}

function onPopState(event) {
  if (withoutHash(location.href) === shown) return; // only the hash is another
  go({ url: location.href }, { how: "stay", scroll: event.state?.y ?? 0 });
}

function onInput(event) {
  if (refreshing > 0) latest++; // what is typed now would be lost with the old screen
  const form = event.target.form;
  if (form && !form.dataset.live) touched.add(form);
}

/** Where the address was changed without a new screen. */
export function replaceAddress(url) {
  if (url === location.href) return;
  history.replaceState(history.state, "", url);
  shown = withoutHash(location.href);
}

/** Starts listening. */
export function start() {
  history.scrollRestoration = "manual";
  doc.addEventListener("click", onClick);
  doc.addEventListener("submit", onSubmit);
  doc.addEventListener("input", onInput);
  window.addEventListener("popstate", onPopState);
  window.addEventListener("pagehide", rememberScroll);
  if (shell === "blank") {
    go({ url: location.href }, { how: "replace", scroll: history.state?.y ?? 0 });
  } else if (history.state?.y) {
    window.scrollTo(0, history.state.y);
  }
}
