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
