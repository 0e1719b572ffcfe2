// An act written down as it is kept until the server has answered: what its form says, when it was made, and
// what it is called in words.
"use strict";

const KEY = "operation_key";
const LONGEST = 1600; // long side of a photo [px]

// The present moment on this phone's clock, ISO 8601 with its offset.
function moment() {
  const now = new Date();
  const ahead = -now.getTimezoneOffset();
  const two = (number) => String(Math.trunc(Math.abs(number))).padStart(2, "0");
  const there = new Date(now.getTime() + ahead * 60000).toISOString().slice(0, 19);
  return `${there}${ahead < 0 ? "-" : "+"}${two(ahead / 60)}:${two(ahead % 60)}`;
}

// A photo no larger than a job needs it.
async function smaller(file) {
  try {
    const picture = await createImageBitmap(file);
    const scale = LONGEST / Math.max(picture.width, picture.height);
    if (scale >= 1) return file;
    const canvas = document.createElement("canvas");
    canvas.width = Math.round(picture.width * scale);
    canvas.height = Math.round(picture.height * scale);
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    const blob = await new Promise((done) => { canvas.toBlob(done, "image/jpeg", 0.8); });
    return blob && blob.size < file.size ? blob : file;
  } catch {
    return file; // the server may know the format
  }
}

const isSaid = (field) => (field.type === "checkbox" ? field.checked : field.options ? isTyped(field) : field.value);
const inWords = (field) => field.files?.[0]?.name || field.selectedOptions?.[0]?.text
  || (field.type === "checkbox" ? field.labels[0]?.textContent : field.value).trim();
// A tick is a form of buttons alone.
const isTick = (form) => !form.querySelector("input:not([type=hidden]),select,textarea");

// What an act is called in the list.
function named(form, button) {
  const act = button?.ariaLabel || button?.textContent.trim();
  if (form.dataset.outbox) return [form.dataset.outbox];
  return isTick(form) ? [act] : [document.querySelector("h1")?.textContent.trim(), act];
}

// What `form` says when it is sent by `button`.
async function written(form, button) {
  const data = new FormData(form, button);
  const whole = data.has("original");
  const fields = [];
  for (const [name, value] of data) {
    if (name === KEY || (value instanceof File && !value.size)) continue;
    fields.push(value instanceof File ? [name, whole ? value : await smaller(value), value.name] : [name, value]);
  }
  const seen = [...form.querySelectorAll("input:not([type=hidden]),select,textarea")].filter(isSaid);
  return {
    key: data.get(KEY), url: form.action, fields, made: moment(), at: Date.now(), page: location.href,
    label: [...named(form, button), ...seen.map(inWords)].filter(Boolean).join(" · "),
    lane: fields.some((field) => field[2]) ? "photos" : "small", tries: 0, next: 0, lease: 0,
  };
}

// What the server found wrong with an act, in its words.
function messages(text) {
  const found = [];
  try {
    JSON.parse(text, (name, value) => {
      if (name === "errors") found.push(...value.map((one) => `${one.message} ${one.accepts ? `Accepted: ${one.accepts}` : ""}`.trim()));
      if (name === "clashes") found.push(...value.map((one) => `${one.label}: ${one.stands || "empty"} now; you typed ${one.typed || "nothing"}.`));
      return value;
    });
  } catch { /* no JSON: not our server's */ }
  return found;
}
