// Whether the browser keeps what is on this phone: asks for lasting storage
// and says how it stands in [data-storage]. How much room is left no browser
// tells (Storage Standard, section 4.2: an estimate, kept vague on purpose).

import { engine, onAwake } from "./ask.js";
import { onShown } from "./screen.js";

let refused = false; // the browser did not promise anything when asked by hand

/** Asks for lasting storage, once. The browser may ask the person. */
export async function askToLast() {
  try {
    if (!navigator.storage?.persist || await navigator.storage.persisted()) return;
    if (localStorage.getItem("asked-to-last")) return;
    localStorage.setItem("asked-to-last", "yes");
    await navigator.storage.persist();
  } catch (err) {
    console.warn("ask for lasting storage", err);
  }
}

async function askByHand() {
  try {
    refused = !await navigator.storage.persist();
  } catch (err) {
    console.warn("ask for lasting storage", err);
    refused = true;
  }
  paint();
}

async function paint() {
  const box = document.querySelector("[data-storage]");
  if (!box || !engine.canSave || !navigator.storage?.persisted) return;
  try {
    const lasting = await navigator.storage.persisted();
    box.querySelector("p").textContent = box.getAttribute(`data-text-${lasting ? "lasting" : refused ? "refused" : "maybe"}`);
    box.querySelector("[data-storage-ask]").hidden = lasting;
    box.hidden = false;
  } catch (err) {
    console.warn("look at storage", err);
  }
}

/** Starts listening. */
export function start() {
  onShown(paint);
  onAwake(paint);
  document.addEventListener("click", (event) => {
    if (event.target.closest?.("[data-storage-ask]")) askByHand();
  });
}
