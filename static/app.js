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

// After an in-page save: say so, and take the eye to the first message where it was refused.
document.addEventListener("htmx:afterSwap", (event) => {
  const target = event.detail.target;
  const problem = target && target.querySelector("[aria-invalid=true], .notice.stop");
  if (problem) {
    say("Not saved yet: see the message beside the field.");
    if (problem.focus && problem.matches("input, select, textarea")) problem.focus();
  } else if (event.detail.requestConfig && event.detail.requestConfig.verb !== "get") {
    say("Saved.");
  }
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

// A refused whole-page form: put the cursor where the first message is.
const firstProblem = document.querySelector("main [aria-invalid=true]");
if (firstProblem) firstProblem.focus();
