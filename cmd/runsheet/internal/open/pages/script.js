// Adds to pages that work without it: keys, choosing why there is no value,
// empty rows without a request, and a word before unsaved text is lost.
"use strict";
const form = document.getElementById("session");
const summary = document.getElementById("summary");
if (summary && !location.hash) summary.focus();
else if (location.hash) {
  const at = document.getElementById(decodeURIComponent(location.hash.slice(1)));
  const to = at && (at.matches("input,select,textarea") ? at : at.querySelector(".row[data-new] input"));
  if (to) to.focus();
}
if (form) {
  let changed = false;
  form.addEventListener("input", () => { changed = true; });
  form.addEventListener("submit", () => { changed = false; });
  addEventListener("beforeunload", (e) => { if (changed) e.preventDefault(); });
  // A word chosen beside a number is written into its field.
  form.addEventListener("change", (e) => {
    if (!e.target.matches(".absent") || !e.target.value) return;
    const input = form.elements[e.target.name.replace(/\.absent$/, "")];
    input.value = e.target.value;
    e.target.value = "";
    changed = true;
    input.focus();
  });
  // Ctrl+S and Cmd+S save.
  addEventListener("keydown", (e) => {
    if ((e.ctrlKey || e.metaKey) && e.key.toLowerCase() === "s") {
      e.preventDefault();
      form.requestSubmit(form.querySelector("button[value=save]"));
    }
  });
  // Another empty row is a copy of the last one.
  form.addEventListener("click", (e) => {
    const add = e.target.closest("button.add");
    const rows = add && add.closest("section").querySelectorAll(".row[data-new]");
    if (!rows || !rows.length) return;
    e.preventDefault();
    const last = rows[rows.length - 1];
    const copy = last.cloneNode(true);
    const n = rows.length + 1;
    for (const el of [copy, ...copy.querySelectorAll("*")])
      for (const name of ["id", "name", "for", "list", "aria-describedby"])
        if (el.hasAttribute(name)) el.setAttribute(name, el.getAttribute(name).replace(/([.-])new\d+/g, `$1new${n}`));
    for (const el of copy.querySelectorAll("input,select,textarea")) el.value = "";
    const title = copy.querySelector(".name");
    title.textContent = title.textContent.replace(/\d+/, (d) => String(Number(d) + 1));
    copy.setAttribute("aria-label", title.textContent);
    last.after(copy);
    copy.querySelector("input,select,textarea").focus();
  });
}
