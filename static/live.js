// Forms that are answered while they are filled in: form[data-live] names the
// region that holds the answer.

import { ask, engine, shell, onAwake } from "./ask.js";
import { fillForm, queryOf } from "./forms.js";
import { notice, noticeBy, onLeave, onShown, refresh, replaceAddress, swapParts, tellShown } from "./screen.js";
import * as prefs from "./prefs.js";

const ADDRESS_DELAY = 300; // ms; browsers bound how often an address may change

const states = new WeakMap(); // form -> {busy, last}
let answered = false; // the person has begun to answer on this document
let addressTimer = 0;

// Answers are asked for one at a time, each with the form as it stands when
// the one before has come: a new answer never waits behind outdated ones, and
// an older one can never replace a newer.
async function score(form) {
  let state = states.get(form);
  if (!state) states.set(form, state = { busy: false, last: null });
  if (state.busy) return;
  state.busy = true;
  try {
    while (form.isConnected) {
      const query = queryOf(form).toString();
      if (query === state.last) break;
      const url = new URL(form.action);
      url.search = query;
      const answer = await ask({ url: url.href, headers: { "Dampstone-Part": form.dataset.live } });
      state.last = query;
      if (!form.isConnected) break;
      noticeBy(answer);
      swapParts(answer.body);
    }
  } catch (err) {
    console.warn("score", err);
    state.last = null;
    notice("offline", () => score(form));
  } finally {
    state.busy = false;
  }
}

function setAddress(form) {
  const url = new URL(form.action);
  url.search = queryOf(form).toString();
  replaceAddress(url.href);
}

function flushAddress() {
  if (!addressTimer) return;
  clearTimeout(addressTimer);
  addressTimer = 0;
  for (const form of liveForms()) setAddress(form);
}

function liveForms() {
  return Array.from(document.forms).filter((f) => f.dataset.live);
}

function onInput(event) {
  const form = event.target.form;
  if (!form?.dataset.live) return;
  answered = true;
  keepUnsureAlone(event.target);
  clearTimeout(addressTimer);
  addressTimer = setTimeout(flushAddress, ADDRESS_DELAY);
  score(form);
}

// "Cannot tell" and an answer to the same question rule each other out.
function keepUnsureAlone(el) {
  const others = (el.type === "checkbox" && el.checked) || (el.type !== "checkbox" && el.value)
    ? Array.from(el.form.elements).filter((o) => o !== el && o.name === el.name) : [];
  for (const other of others) {
    if (el.value === "unsure" && el.type === "checkbox") {
      if (other.type === "checkbox" || other.type === "radio") other.checked = false;
      else other.value = "";
    } else if (other.value === "unsure" && other.type === "checkbox") {
      other.checked = false;
    }
  }
}

function onSubmit(event) {
  const form = event.target;
  if (!form.dataset.live) return;
  event.preventDefault();
  if (form.contains(document.activeElement)) document.activeElement.blur(); // puts the keyboard away
  score(form);
}

// A document of the release knows neither the address nor the day.
function fillFromAddress(form) {
  const query = new URLSearchParams(location.search);
  if (query.size > 0 || location.search.length > 1) fillForm(form, query);
  const month = form.elements.namedItem("month");
  if (month && !query.has("month") && !month.value) month.value = String(new Date().getMonth() + 1);
  tellShown(form);
}

async function onEngineAwake() {
  if (document.documentElement.dataset.shell !== "bank") return;
  const otherLanguage = prefs.get("lang") && prefs.get("lang") !== document.documentElement.lang;
  if (answered && !otherLanguage) {
    for (const form of liveForms()) score(form);
  } else {
    await refresh();
  }
}

/** Starts listening. */
export function start() {
  document.addEventListener("input", onInput);
  document.addEventListener("change", onInput);
  document.addEventListener("submit", onSubmit);
  window.addEventListener("pagehide", flushAddress);
  onLeave(flushAddress);
  onShown((root) => {
    if (root === document) answered = false;
  });
  if (shell === "bank") for (const form of liveForms()) fillFromAddress(form);
  onAwake(onEngineAwake);
  if (engine.state === "awake") onEngineAwake();
}
