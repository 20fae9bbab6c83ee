// True size, and the controls that set numbers: sliders, steps and the
// calibration against a bank card.
//
//   svg[data-mm-w][data-mm-h]            a drawing, its size in mm; one of class
//                                        icon is a mark, not at true size
//   input[type=range][data-drives=ID]    moves with the field ID, both ways
//   [data-size-of=ID] svg                grows with the length in the field ID;
//                                        drawn for what the slider stood at
//   svg[data-card][data-drawn-by=ID]     viewBox in mm, ID holds CSS px per mm
//   button[data-step][data-steps=ID]     adds to the field ID
//   input[type=checkbox][data-clears=ID] empties the field ID, and the field it

import { onShown } from "./screen.js";
import * as prefs from "./prefs.js";

const doc = document;

/** Reads a number written with a point or a comma; NaN if it is none. */
function parse(text) {
  const s = text.trim().replace(",", ".");
  return s === "" ? NaN : Number(s);
}

/** Writes a number as the screen's language does, with the decimals of a step. */
function format(x, step) {
  const decimals = (String(step).split(".")[1] ?? "").length;
  return new Intl.NumberFormat(doc.documentElement.lang, { useGrouping: false, maximumFractionDigits: decimals }).format(x);
}

function sliderOf(field) {
  return field.id ? doc.querySelector(`input[type=range][data-drives="${CSS.escape(field.id)}"]`) : null;
}

function setField(field, x, step) {
  field.value = format(x, step);
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

// ---- true size ----

function resize(svg, px, ratio = 1) {
  svg.setAttribute("width", (svg.dataset.mmW * px * ratio).toFixed(2));
  svg.setAttribute("height", (svg.dataset.mmH * px * ratio).toFixed(2));
}

// Pixels per mm that hold for an element: those just being measured in its
// form, or the kept ones, or those it was drawn with.
function pxFor(svg) {
  const field = doc.getElementById(svg.closest("form")?.querySelector("[data-card]")?.dataset.drawnBy ?? "");
  const typed = field ? parse(field.value) : NaN;
  if (typed > 0) return typed;
  return prefs.pxPerMM() || svg.getAttribute("width") / svg.dataset.mmW;
}

function resizeAll(root) {
  for (const svg of root.querySelectorAll("svg[data-mm-w]:not(.icon)")) {
    if (!svg.closest("[data-size-of]")) resize(svg, pxFor(svg));
  }
  for (const box of root.querySelectorAll("[data-size-of]")) grow(box);
}

function grow(box) {
  const field = doc.getElementById(box.dataset.sizeOf);
  const slider = field && sliderOf(field);
  const svg = box.querySelector("svg[data-mm-w]");
  if (!slider || !svg) return;
  const px = prefs.pxPerMM() || (svg.dataset.px ??= svg.getAttribute("width") / svg.dataset.mmW);
  const drawn = Number(slider.defaultValue);
  const typed = parse(field.value);
  const length = typed > 0 ? Math.min(Math.max(typed, slider.min), slider.max) : drawn;
  resize(svg, px, length / drawn);
}

function drawCard(field) {
  for (const card of doc.querySelectorAll(`[data-card][data-drawn-by="${CSS.escape(field.id)}"]`)) {
    const px = parse(field.value);
    if (!(px > 0)) continue;
    card.setAttribute("width", (card.viewBox.baseVal.width * px).toFixed(2));
    card.setAttribute("height", (card.viewBox.baseVal.height * px).toFixed(2));
    resizeAll(card.closest("form") ?? doc);
  }
}

// ---- controls ----

function onInput({ target }) {
  if (target.matches("input[type=range][data-drives]")) {
    const field = doc.getElementById(target.dataset.drives);
    if (field) setField(field, Number(target.value), target.step);
    return;
  }
  if (target.matches("[data-clears]")) {
    const field = doc.getElementById(target.dataset.clears);
    if (field && target.checked) {
      field.value = "";
      follow(field);
    }
    return;
  }
  if (target.id) {
    const box = doc.querySelector(`[data-clears="${CSS.escape(target.id)}"]`);
    if (box && target.value) box.checked = false;
    follow(target);
  }
}

// Whatever hangs on a field takes its new value.
function follow(field) {
  const slider = sliderOf(field);
  const x = parse(field.value);
  if (slider && !Number.isNaN(x)) slider.value = x;
  for (const box of doc.querySelectorAll(`[data-size-of="${CSS.escape(field.id)}"]`)) grow(box);
  drawCard(field);
}

function onClick({ target }) {
  const button = target.closest?.("[data-step][data-steps]");
  if (!button) return;
  const field = doc.getElementById(button.dataset.steps);
  if (!field) return;
  const step = Number(button.dataset.step);
  const bounds = sliderOf(field) ?? field.dataset;
  let x = (parse(field.value) || 0) + step;
  if (bounds.min !== undefined && bounds.min !== "") x = Math.max(x, Number(bounds.min));
  if (bounds.max !== undefined && bounds.max !== "") x = Math.min(x, Number(bounds.max));
  setField(field, x, button.dataset.step.replace("-", ""));
}

/** Starts listening, and sets the sizes of what stands there. */
export function start() {
  doc.addEventListener("input", onInput);
  doc.addEventListener("click", onClick);
  onShown((root) => {
    if (root.matches?.("form")) {
      for (const field of root.elements) if (field.id && "value" in field) follow(field); // a fieldset has none
    }
    resizeAll(root);
  });
  resizeAll(doc);
}
