// Acts made without signal. A form marked `data-outbox` is written down in this browser before anything is
// sent, and stays there until the server has answered to its operation key; a key acts once, however often
// it is sent. What the server refuses waits here for a person.
"use strict";

(() => {
  const PATIENCE = 4000; // after this long without an answer the page goes on [ms]
  const LIMIT = { small: 15000, photos: 60000 }; // one try [ms]
  const SLOWEST = 20; // what a weak signal takes of a picture at its full size [bytes/ms]
  const DAY = 86400000;
  const HOPELESS = 5; // tries after which an act that others wait behind may be discarded
  const LOST = { status: 0, ours: false, text: "" }; // no answer
  const box = document.getElementById("outbox");
  const list = document.getElementById("outbox-list");
  const told = document.getElementById("to-send");
  const tabs = new BroadcastChannel("outbox");
  const sending = new WeakMap(); // forms, each with what is grey meanwhile: a swapped form has lost its buttons
  const busy = (form, now) => {
    if (now) sending.set(form, [...form.elements]);
    for (const field of sending.get(form) || []) field.classList.toggle("sending", now);
    if (!now) sending.delete(form);
  };
  const unwritten = new WeakSet(); // forms that could not be sent from here
  const again = new WeakMap(); // forms that were sent again meanwhile, each with the button pressed
  let timer = 0;

  // One try. The echoed key tells our server's answer from that of something between it and the phone.
  // `wanted`: headers that say in which shape the answer is to come.
  const DATA = { Accept: "application/json" };
  const PAGE = { Accept: "text/html" };
  const fragment = (target) => ({ ...PAGE, "HX-Request": "true", "HX-Target": target });
  async function ask(act, wanted = DATA) {
    const body = new FormData();
    for (const field of act.fields) body.append(...field);
    const headers = { "Idempotency-Key": act.key, "Made-At": act.made, "Sent-At": moment(), ...wanted };
    const held = setInterval(() => change(act.id, { lease: Date.now() + LEASE }).catch(() => {}), LEASE / 3);
    try {
      const bytes = act.fields.reduce((sum, [, value]) => sum + (value.size || 0), 0);
      const signal = AbortSignal.timeout(Math.ceil(LIMIT[act.lane] + bytes / SLOWEST));
      const answer = await fetch(act.url, { method: "POST", body, headers, signal, redirect: "error" });
      const text = await answer.text();
      return { status: answer.status, ours: answer.headers.get("Operation-Key") === act.key, text, headers: answer.headers };
    } catch {
      return LOST;
    } finally {
      clearInterval(held);
    }
  }

  // What an answer means for its act; whether it is done.
  async function settle(act, { status, ours, text }) {
    if (ours && status >= 200 && status < 300) {
      await drop(act.id);
      return true;
    }
    const said = messages(text);
    const later = [401, 403, 408, 409, 429].includes(status);
    if (status >= 400 && status < 500 && !later && (ours || said.length)) {
      const why = status === 412 ? "changed by somebody else meanwhile.\n" : "";
      await change(act.id, { lease: 0, problem: why + (said.join("\n") || `The server refused it (${status}).`) });
      return false;
    }
    const tries = act.tries + 1;
    const pause = Math.min(60, 2 ** tries) * 1000 * (0.5 + Math.random() / 2);
    await change(act.id, { lease: 0, tries, next: Date.now() + pause, sign: status === 401 || status === 403 });
    return false;
  }

  async function flush(lane) {
    for (let act = await take(lane); act; act = await take(lane)) {
      if (await settle(act, await ask(act))) sent();
      await tell();
    }
  }

  async function run(atOnce = false) {
    clearTimeout(timer);
    if (document.visibilityState !== "visible") return;
    if (atOnce) await store((all, acts) => { for (const act of all) acts.put(Object.assign(act, { next: 0 })); });
    await Promise.all([flush("small"), flush("photos")]);
    await refresh();
    const due = (await store()).filter((act) => !act.problem).map((act) => Math.max(act.next, act.lease) - Date.now());
    clearTimeout(timer);
    if (due.length) timer = setTimeout(start, Math.min(20000, Math.max(200, Math.min(...due))));
  }
  const start = (atOnce) => run(atOnce).catch(() => {}); // without a store there is nothing to send

  let news = false; // something was sent that the page does not show yet
  function sent() {
    news = true;
    say("Sent.");
  }

  // Show what became of what was sent, or what others did, unless something is typed on the page or more waits.
  async function refresh() {
    if (!news || [...document.querySelectorAll("main input, main textarea, main select")].some(isTyped)) return;
    if ((await store()).some((act) => !act.problem)) return;
    const before = swaps;
    const whole = { headers: { "Whole-Page": "yes" }, signal: AbortSignal.timeout(LIMIT.small) };
    const answer = await fetch(location.href, whole).catch(() => ({}));
    const text = answer.ok && !answer.redirected && await answer.text().catch(() => "");
    if (!text || before !== swaps) return; // older than the answer to an act of this page
    news = false;
    const done = document.querySelector("main .news"); // what was done here can still be undone
    swapPage(text, { xhr: { status: 200 }, requestConfig: {} });
    if (done && !document.querySelector("main .news")) document.querySelector("main").prepend(done);
  }
  let swaps = 0;
  function swap(place, text, told, select) {
    swaps += 1;
    if (!window.htmx) return swapped(place, text, select, told);
    const eventInfo = { ...told, target: place };
    htmx.trigger(place, "htmx:beforeSwap", eventInfo);
    htmx.swap(place, text, { swapStyle: "outerHTML", swapDelay: 0, settleDelay: 20 }, { contextElement: place, eventInfo, select });
  }
  function swapPage(text, told) {
    for (const part of ["h1", "main", ".sheet ~ .bar"]) {
      const place = document.querySelector(part);
      if (place) swap(place, text, told, part);
    }
  }

  // What waits, in words.
  function line(act) {
    const item = document.createElement("li");
    const add = (kind, text, press) => {
      const part = item.appendChild(document.createElement(kind));
      part.textContent = text;
      if (press) part.onclick = press;
      if (kind === "button") part.ariaLabel = `${text}: ${act.label}`;
      return part;
    };
    add("b", act.label);
    add("p", `${new Date(act.at).toLocaleString([], { weekday: "short", hour: "2-digit", minute: "2-digit" })}: ${state(act)}`);
    if (act === discarded) {
      add("button", "Put it back", putBack);
      return item;
    }
    if (act.sign) add("a", "Sign in").href = `/sign-in?back=${encodeURIComponent(location.pathname + location.search)}`;
    if (act.problem) add("button", "Open the form again", () => { sessionStorage.reopen = act.id; location.assign(act.page); });
    else add("button", "Send now", () => start(true));
    if (act.problem || act.tries >= HOPELESS) add("button", "Discard", () => discard(act)).className = "apart";
    return item;
  }

  function state(act) {
    if (act === discarded) return "discarded";
    if (act.problem) return act.problem;
    if (act.sign) return "sign in to send it";
    if (act.lease > Date.now()) return "being sent";
    return act.tries > 1 ? `waiting for the server, tried ${act.tries} times` : "waiting for the server";
  }

  let discarded = null; // can be put back for as long as the page stays
  async function discard(act) {
    await drop(act.id);
    discarded = act;
    await tell();
  }
  async function putBack() {
    await store((_, acts) => { acts.put(discarded); });
    discarded = null;
    await tell();
    start();
  }

  async function show() {
    const acts = await store();
    const problems = acts.filter((act) => act.problem).length;
    const waiting = acts.length - problems;
    const words = waiting ? [`${waiting} waiting to send`] : [];
    if (problems) words.push(`${problems} ${problems > 1 ? "need" : "needs"} your eye`);
    if (acts.some((act) => act.sign)) words.push("sign in to send");
    const oldest = Math.min(...acts.map((act) => act.at));
    if (acts.length && Date.now() - oldest > DAY) words.push(`the oldest since ${new Date(oldest).toLocaleDateString()}`);
    const text = words.join(", ");
    if (told.textContent !== text) told.textContent = text;
    const listed = discarded ? [...acts, discarded] : acts;
    box.hidden = !listed.length;
    document.documentElement.classList.toggle("has-outbox", listed.length > 0);
    const held = document.activeElement?.ariaLabel;
    list.replaceChildren(...listed.map(line));
    if (held) [...list.querySelectorAll("button")].find((button) => button.ariaLabel === held)?.focus();
    mark(acts);
  }
  const draw = () => show().catch(() => {});
  function tell() {
    tabs.postMessage(0);
    return draw();
  }

  // A number that is used once is proposed past those of the acts that wait, unless another is typed.
  function propose(field, acts) {
    const mine = acts.filter((act) => act.url === field.form.action).flatMap((act) => act.fields);
    const used = mine.filter(([name]) => name === field.name).map(([, value]) => value.trim());
    const next = field.dataset.next.split(" ").find((number) => !used.includes(number));
    if (!isTyped(field)) field.value = field.defaultValue = next ?? "";
  }

  // A tick that waits says so in place of its button. The others stay: the state that is set last holds.
  function mark(acts) {
    const waiting = acts.filter((act) => !act.problem && act.lease <= Date.now());
    for (const field of document.querySelectorAll("[data-next]")) propose(field, acts);
    for (const form of document.querySelectorAll("form[data-outbox]")) {
      if (isTick(form)) markTick(form, waiting.findLast((act) => act.url === form.action));
    }
  }
  function markTick(form, act) {
    const isOf = (button) => !button.name || act.fields.some(([name, value]) => name === button.name && value === button.value);
    const buttons = [...form.querySelectorAll("button")];
    const pressed = act && buttons.find(isOf);
    const hadFocus = document.activeElement === pressed;
    for (const button of buttons) button.hidden = button === pressed;
    let words = form.nextElementSibling?.className === "waits" ? form.nextElementSibling : null;
    if (!act) return words?.remove();
    if (!words) {
      words = document.createElement("p");
      words.className = "waits";
      words.tabIndex = -1;
      form.after(words);
    }
    words.textContent = `${pressed?.textContent.trim() || "Noted"}, waiting to send`;
    if (hadFocus) words.focus();
  }

  // An answer that came at once is shown as the form alone would have shown it; whether it could be.
  async function arrive(act, form, answer) {
    const refused = [412, 422].includes(answer.status);
    if (!answer.ours || (answer.status >= 300 && !refused)) return false;
    const target = form.dataset.swaps;
    const whole = refused && !target ? await ask(act, PAGE) : answer;
    if (whole.status !== answer.status) return false;
    await drop(act.id).catch(() => {}); // a refused form is on the page, with what was typed
    const formData = new Map(act.fields);
    const requestConfig = { verb: "post", elt: form, formData, triggeringEvent: { type: "submit" } };
    const told = { xhr: { status: answer.status }, requestConfig };
    if (target) swap(document.querySelector(answer.headers.get("HX-Retarget") || `#${target}`), answer.text, told);
    else if (refused) swapPage(whole.text, told);
    else location.assign(answer.headers.get("Content-Location") || location.href);
    say(refused ? "Not saved yet: see the message beside the field." : "Saved.");
    if (target) sendAgain(form);
    return true;
  }

  // Write the act of a form down; whether others wait to go first.
  async function writeDown(act, form) {
    const again = Number(form.dataset.again);
    let behind = false;
    await store((all, acts) => {
      const before = all.find((one) => one.key === act.key);
      if (before) return void (act.id = before.id);
      if (again) acts.delete(again);
      behind = all.some((one) => one.lane === act.lane && !one.problem);
      if (!behind) act.lease = Date.now() + LEASE;
      acts.add(act).onsuccess = (event) => { act.id = event.target.result; };
    }, "strict");
    return behind;
  }

  // What was typed into a form after its act was written down: the next entry, begun on a slow phone.
  function typedSince(form, act) {
    const same = (field) => act.fields.some(([name, value]) => name === field.name && value === field.value);
    const typed = [...form.querySelectorAll("input:not([type=hidden],[type=file],[type=checkbox],[type=radio]),textarea")];
    return typed.filter((field) => field.name && !same(field)).map((field) => [field, field.value]);
  }

  // The form is ready for the next entry, while its act waits.
  function emptied(form, act, words) {
    busy(form, false);
    const since = typedSince(form, act);
    form.reset();
    for (const [field, value] of since) field.value = value;
    delete form.dataset.again;
    for (const field of document.getElementsByName(KEY)) if (field.form === form) field.value = freshKey();
    say(words);
    sendAgain(form);
    return tell();
  }

  // The next entry, sent before this one was done with. A second tap on one entry has typed nothing since.
  function sendAgain(form) {
    const pressed = again.get(form);
    again.delete(form);
    const button = pressed?.isConnected ? pressed : document.getElementById(pressed?.id);
    const fields = button ? [...button.form.querySelectorAll("input,textarea,select")] : [];
    if (fields.some(isTyped)) button.form.requestSubmit(button);
  }

  async function send(act, form) {
    const target = form.dataset.swaps;
    let late = false;
    const hurry = setTimeout(() => {
      late = true;
      emptied(form, act, "No answer yet: kept on this phone.");
    }, PATIENCE);
    const answer = await ask(act, target ? fragment(target) : DATA);
    clearTimeout(hurry);
    if (late || !(await arrive(act, form, answer))) {
      const later = answer.status < 300 ? answer : LOST; // what a refusal says is asked for by itself
      if (await settle(act, later)) sent();
      if (!late) await emptied(form, act, "No answer: kept on this phone.");
    }
    await tell();
  }

  // No room or no store: it goes now or not at all, and what was typed stays.
  async function sendUnkept(act, form) {
    const target = form.dataset.swaps;
    const answer = await ask(act, target ? fragment(target) : DATA);
    if (answer === LOST) noConnection();
    else if (!(await arrive(act, form, answer))) throw new Error(`answered ${answer.status}`);
  }

  async function submit(form, button) {
    const act = await written(form, button);
    const behind = await writeDown(act, form).catch(() => null);
    if (behind === null) return sendUnkept(act, form);
    if (behind) await emptied(form, act, "Kept on this phone: it goes after the others.");
    else await send(act, form);
    start();
  }

  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (new URL(form.action).pathname === "/sign-out") {
      event.preventDefault();
      const acts = await store().catch(() => []);
      if (!acts.length) form.submit();
      else say(`Not signed out: ${told.textContent || "something waits to be sent"}. Send or discard it first.`);
      return;
    }
    if (!("outbox" in form.dataset) || unwritten.has(form)) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    if (sending.has(form)) return void again.set(form, event.submitter);
    busy(form, true);
    const mine = sending.get(form);
    try {
      await submit(form, event.submitter);
    } catch {
      unwritten.add(form); // it goes as an ordinary form, under the same key
      setTimeout(() => form.requestSubmit(event.submitter)); // a form can't be sent while it tells of being sent
    } finally {
      if (sending.get(form) === mine) busy(form, false);
    }
  }, true);

  // A refused act opened again: its form as it was typed, under a key of its own.
  async function reopen() {
    const id = Number(sessionStorage.reopen);
    if (!id) return;
    delete sessionStorage.reopen;
    const act = (await store()).find((one) => one.id === id);
    const form = act && [...document.forms].find((one) => one.action === act.url && "outbox" in one.dataset);
    if (!form) return say("That form is not on this page any more. What was typed stands in the list below.");
    for (const [name, value, file] of act.fields) {
      const field = form.elements.namedItem(name);
      if (file && field) {
        const chosen = new DataTransfer();
        chosen.items.add(new File([value], file, { type: value.type }));
        field.files = chosen.files;
      }
      if (field?.type === "checkbox") field.checked = true;
      else if (typeof value === "string" && field && field.type !== "hidden" && field.name) field.value = value;
    }
    form.dataset.again = id;
    for (let fold = form.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
    form.querySelector("input:not([type=hidden]),textarea")?.focus();
  }

  tabs.onmessage = draw;
  document.addEventListener("build-changed", () => { news = true; refresh().catch(() => {}); });
  document.addEventListener("htmx:afterSettle", draw);
  document.addEventListener("visibilitychange", () => start(true));
  addEventListener("online", () => start(true));
  addEventListener("pageshow", () => { draw(); start(true); });
  reopen().catch(() => {});

  // A worker keeps pages readable without signal. Browsers allow it over HTTPS with a certificate they trust.
  if (location.protocol === "https:") navigator.serviceWorker?.register("/sw.js").catch(() => {});
})();
