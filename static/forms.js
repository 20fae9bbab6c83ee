// Reads and fills forms.

/** The form as a query, without what was left empty. */
export function queryOf(form) {
  const query = new URLSearchParams();
  for (const [name, value] of new FormData(form)) {
    if (typeof value === "string" && value.trim() !== "") query.append(name, value);
  }
  return query;
}

/** Sets every control to what the query says, and the rest to nothing. */
export function fillForm(form, query) {
  const taken = new Set(); // values that a box of the same name stands for
  for (const el of form.elements) {
    if (el.type === "checkbox" || el.type === "radio") taken.add(`${el.name}=${el.value}`);
  }
  for (const el of form.elements) {
    if (!el.name || el.type === "hidden" || el.type === "submit" || el.type === "file") continue;
    const values = query.getAll(el.name);
    if (el.type === "checkbox" || el.type === "radio") {
      el.checked = values.includes(el.value);
    } else {
      el.value = values.find((v) => !taken.has(`${el.name}=${v}`)) ?? "";
    }
    const full = el.type === "checkbox" || el.type === "radio" ? el.checked : el.value !== "";
    if (full && el.closest("details")) el.closest("details").open = true;
  }
}

// ---- half-filled forms over a reload ----

const KEY = "half-filled";

/** Keeps what was typed into these forms for this address. */
export function keepForms(forms) {
  const kept = [];
  for (const form of forms) {
    if (!form.isConnected) continue;
    const fields = [...new FormData(form)].filter(([, value]) => typeof value === "string");
    kept.push({ action: form.getAttribute("action"), fields });
  }
  try {
    if (kept.length > 0) sessionStorage.setItem(KEY, JSON.stringify({ url: location.href, kept }));
  } catch {
    // No room to keep it: the person is asked to type again.
  }
}

/** Puts it back once the same screen stands there again. */
export function restoreForms() {
  let all = null;
  try {
    all = JSON.parse(sessionStorage.getItem(KEY));
  } catch {
    return;
  }
  if (all?.url !== location.href) return;
  sessionStorage.removeItem(KEY);
  for (const { action, fields } of all.kept) {
    const form = Array.from(document.forms).find((f) => f.getAttribute("action") === action);
    if (!form) continue;
    fillForm(form, new URLSearchParams(fields));
    form.dispatchEvent(new Event("input", { bubbles: true }));
  }
}
