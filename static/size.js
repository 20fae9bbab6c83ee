// True size, and the controls that set numbers: sliders, steps and the
// calibration against a bank card.
//
//   svg.true                             drawn at true size: an em is a centimetre
//   input[type=range][data-drives=ID]    moves with the field ID, both ways
//   [data-size-of=ID]                    grows with the length in the field ID;
//                                        drawn for what the slider stood at
//   [data-measures=ID]                   the field ID holds CSS px per mm
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

const CSS_MM = 96 / 25.4; // CSS Values and Units, section 6.2

/** Draws what is at true size by what is being measured, or by what is kept. */
function draw(root) {
  const field = doc.getElementById(doc.querySelector("[data-measures]")?.dataset.measures ?? "");
  const typed = parse(field?.value ?? "");
  const px = typed > 0 ? typed : prefs.pxPerMM() || CSS_MM;
  for (const svg of root.querySelectorAll("svg.true")) svg.setAttribute("font-size", 10 * px * growth(svg.closest("[data-size-of]")));
}

// How much longer the length is that is being set than what was drawn.
function growth(box) {
  const field = doc.getElementById(box?.dataset.sizeOf ?? "");
  const slider = field && sliderOf(field);
  if (!slider) return 1;
  const typed = parse(field.value);
  return typed > 0 ? Math.min(Math.max(typed, slider.min), slider.max) / slider.defaultValue : 1;
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
  for (const box of doc.querySelectorAll(`[data-size-of="${CSS.escape(field.id)}"]`)) draw(box);
  if (doc.querySelector(`[data-measures="${CSS.escape(field.id)}"]`)) draw(doc);
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
    draw(root);
  });
  draw(doc);
}
