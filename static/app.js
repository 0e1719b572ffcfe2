// Small helps on top of pages that work without them.
"use strict";

const status = () => document.getElementById("status");

function say(text) {
  const line = status();
  if (line) line.textContent = text;
}

// A form resent by hand after a lost answer keeps its operation key, so it still acts once; only an
// answer that arrived gives the form (as part of the swapped page) a new one.
function noConnection() {
  say("No connection to the server. What you typed is still here: press again when the signal is back.");
}
for (const name of ["htmx:sendError", "htmx:timeout", "htmx:error"]) {
  document.addEventListener(name, noConnection);
}

// A page that the browser kept has the keys of its first showing; each showing gets its own, so that two
// tabs of one sheet are two forms.
function freshKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return btoa(String.fromCharCode(...bytes)).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
}
for (const field of document.getElementsByName("operation_key")) field.value = freshKey();

// After an in-page save: say what became of it, and clear messages that no longer hold.
document.addEventListener("htmx:afterRequest", (event) => {
  const { xhr, elt, requestConfig } = event.detail;
  if (!xhr || !requestConfig || requestConfig.verb === "get") return;
  if (xhr.status >= 400) {
    say("Not saved yet: see the message beside the field.");
    return;
  }
  if (xhr.status === 0) return;
  say("Saved.");
  for (const old of elt.querySelectorAll(".problem, .notice.stop")) old.remove();
  for (const field of elt.querySelectorAll(".bad")) field.classList.remove("bad");
  for (const field of elt.querySelectorAll("[aria-invalid]")) field.removeAttribute("aria-invalid");
});

// What was saved is no longer only typed.
document.addEventListener("htmx:afterRequest", (event) => {
  const { xhr, elt, requestConfig } = event.detail;
  if (!elt.elements || !requestConfig?.formData || !xhr || xhr.status < 200 || xhr.status >= 300) return;
  for (const field of elt.elements) {
    if (field.type === "checkbox") field.defaultChecked = requestConfig.formData.has(field.name);
    else if (requestConfig.formData.get(field.name) !== field.value || field.type === "file") continue;
    else if (field.options) for (const option of field.options) option.defaultSelected = option.selected;
    else field.defaultValue = field.value;
  }
});

// What the reader opened stays open when its part of the page is swapped.
const opened = new Set();
document.addEventListener("htmx:beforeSwap", (event) => {
  opened.clear();
  for (const fold of event.detail.target.querySelectorAll("details[open][id]")) opened.add(fold.id);
});
document.addEventListener("htmx:afterSettle", () => {
  for (const id of opened) {
    const fold = document.getElementById(id);
    if (fold) fold.open = true;
  }
});

// What is under the thumb stays there when the page around it is swapped.
let held = null;
document.addEventListener("htmx:beforeSwap", () => {
  const here = document.activeElement;
  held = here && here.id ? { id: here.id, top: here.getBoundingClientRect().top } : null;
});
document.addEventListener("htmx:afterSwap", () => {
  const here = held && document.getElementById(held.id);
  if (here) scrollBy(0, here.getBoundingClientRect().top - held.top);
});

// What was typed while a save was under way stays typed, though the answer swaps its form.
const meanwhile = new Map();
document.addEventListener("htmx:beforeSwap", (event) => {
  const { target, requestConfig } = event.detail;
  meanwhile.clear();
  if (!requestConfig?.formData || requestConfig.verb === "get") return;
  const form = requestConfig.elt.closest("form");
  for (const field of target.querySelectorAll("input[id],textarea[id],select[id]")) {
    if (["hidden", "checkbox", "file"].includes(field.type)) continue;
    const sent = field.form === form && requestConfig.formData.get(field.name);
    if (typeof sent === "string" ? field.value !== sent : isTyped(field)) meanwhile.set(field.id, field.value);
  }
});
document.addEventListener("htmx:afterSwap", () => {
  for (const [id, text] of meanwhile) {
    const field = document.getElementById(id);
    if (field) field.value = text;
  }
});

// A browser fills no file field from a page: a picture chosen for a form that was refused is put back here.
const pictures = new Map();
document.addEventListener("htmx:beforeSwap", (event) => {
  pictures.clear();
  if (event.detail.xhr.status < 400) return;
  for (const field of document.querySelectorAll("input[type=file][id]")) {
    if (field.files.length) pictures.set(field.id, field.files);
  }
});
document.addEventListener("htmx:afterSwap", () => {
  for (const [id, files] of pictures) {
    const field = document.getElementById(id);
    if (!field || field.ariaInvalid) continue;
    field.files = files;
    document.getElementById(`${id}-again`)?.remove();
  }
});

// What a size was meant as is put into its field, where it stays in sight and can be changed again.
document.addEventListener("change", (event) => {
  const { means } = event.target.dataset;
  const field = means && event.target.form.elements[event.target.name.replace("meant.", "")];
  if (field) field.value = means;
}, true);

// Keys for what a number pad lacks. A unit stands once, at the end; a part of an inch says that these are inches.
document.addEventListener("click", (event) => {
  const key = event.target.closest("[data-types]");
  if (!key) return;
  const field = document.getElementById(key.parentElement.dataset.keys);
  const { types } = key.dataset;
  const bare = field.value.trim().replace(/\s*(mm|in)$/, "");
  if (types === "and") field.value = `${bare} `;
  else if (types[0] === "/") field.value = `${bare.replace(/\/\d*$/, "")}${types} in`;
  else field.value = `${bare} ${types}`;
  field.focus();
  field.dispatchEvent(new Event("input", { bubbles: true }));
});
function numberPads() {
  for (const keys of document.querySelectorAll(".keys")) document.getElementById(keys.dataset.keys).inputMode = "decimal";
}
document.addEventListener("htmx:afterSettle", numberPads);
numberPads();

// A refused form: the first bad field, or what clashed, is brought into view and has the cursor. Where the form
// went by itself as a field was left, the cursor stays in the next field, under the thumb.
function showRefusal() {
  const first = document.querySelector("main [aria-invalid=true]")
    || document.querySelector("main .notice.stop[role=alert], main .problem");
  if (!first) return;
  for (let fold = first.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
  if (!first.matches("input,select,textarea")) first.tabIndex = -1;
  first.focus({ preventScroll: true });
  first.scrollIntoView({ block: "center" });
}
let typing = false;
document.addEventListener("htmx:beforeSwap", () => {
  typing = document.activeElement.matches("input,select,textarea");
});
document.addEventListener("htmx:afterSwap", () => {
  for (const field of document.querySelectorAll("[autofocus]")) field.autofocus = false; // for pages without scripts
});
document.addEventListener("htmx:afterSettle", (event) => {
  const { xhr, requestConfig } = event.detail;
  if (xhr.status >= 400 && (requestConfig.triggeringEvent?.type === "submit" || !typing)) showRefusal();
});

// The list of sheets closes when something else is pressed or on Escape.
document.addEventListener("click", (event) => {
  for (const list of document.querySelectorAll("details.sheets[open]")) {
    if (!list.contains(event.target)) list.open = false;
  }
});
document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape") return;
  for (const list of document.querySelectorAll("details.sheets[open]")) {
    list.open = false;
    list.querySelector("summary").focus();
  }
});

// A page come back to may tell an old verdict: it is asked for again, unless something is typed on it.
function isTyped(field) {
  if (field.options) return field.selectedIndex !== Math.max(0, [...field.options].findIndex((one) => one.defaultSelected));
  if (field.type === "checkbox") return field.checked !== field.defaultChecked;
  return field.type !== "hidden" && field.value !== field.defaultValue;
}
addEventListener("pageshow", (event) => {
  const [arrival] = performance.getEntriesByType("navigation");
  const cameBack = event.persisted || (arrival && arrival.type === "back_forward");
  if (cameBack && ![...document.querySelectorAll("main input, main textarea")].some(isTyped)) location.reload();
});

showRefusal(); // a refused whole page

// A part of the page put in place of another on a sheet that comes without htmx, told to the helps above as htmx tells.
function swapped(place, text, select = "body > *", told = { xhr: { status: 200 }, requestConfig: {} }) {
  const part = new DOMParser().parseFromString(text, "text/html").querySelector(select);
  const tell = (name, at) => at.dispatchEvent(new CustomEvent(name, { bubbles: true, detail: { ...told, target: place } }));
  const { id } = document.activeElement;
  tell("htmx:beforeSwap", place);
  place.replaceWith(part ?? "");
  if (id) document.getElementById(id)?.focus({ preventScroll: true });
  for (const name of ["htmx:afterSwap", "htmx:afterSettle"]) tell(name, document);
}

// A part that is asked for once it is on the screen, so that no page waits for it; without an answer its link stays.
async function bring(place) {
  const headers = { Accept: "text/html", "HX-Request": "true", "HX-Target": place.id };
  const answer = await fetch(place.dataset.part, { headers }).catch(() => ({}));
  if (answer.ok && !answer.redirected) swapped(place, await answer.text());
}
const onScreen = new IntersectionObserver((seen) => {
  for (const { isIntersecting, target } of seen) {
    if (!isIntersecting) continue;
    onScreen.unobserve(target);
    bring(target);
  }
});
function lookFor() {
  for (const place of document.querySelectorAll("[data-part]")) onScreen.observe(place);
}
document.addEventListener("htmx:afterSettle", lookFor);
lookFor();
