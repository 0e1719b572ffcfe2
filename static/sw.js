// Keeps pages readable without signal: a page comes from the server, or as it stood last after a short wait.
// It changes nothing and sends nothing; VERSION and FILES are put in front by the server.
"use strict";

const CACHE = `witness-mark-${VERSION}`;
const PATIENCE = 1500; // for the server, before the copy is shown [ms]
const MOST_PAGES = 100;
const AT_HAND = 600000; // after so long it is asked again what is to be kept of a build [ms]
const ANY = { ignoreVary: true };

addEventListener("install", (event) => {
  skipWaiting();
  event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll(FILES)));
});

// The page that brought the worker was loaded before it, so it is asked for again.
async function takeOver() {
  for (const name of await caches.keys()) if (name !== CACHE) await caches.delete(name);
  await clients.claim();
  for (const { url } of await clients.matchAll()) {
    await fetch(url).then((page) => keep(url, page)).catch(() => {});
    prepare(url).catch(() => {}); // nobody waits for it: until this is over, no other page comes
  }
}
addEventListener("activate", (event) => event.waitUntil(takeOver()));

async function keep(url, page) {
  if (new URL(page.url).pathname === "/sign-in") return forget(); // nobody is signed in here any more
  if (!page.ok || page.redirected || !page.headers.get("Content-Type")?.startsWith("text/html")) return;
  const cache = await caches.open(CACHE);
  await cache.put(url, page.clone());
  const kept = (await cache.keys()).filter((asked) => !new URL(asked.url).pathname.startsWith("/static/"));
  for (const oldest of kept.slice(0, -MOST_PAGES)) await cache.delete(oldest, ANY);
}

async function arrived(url, page) {
  await keep(url, page);
  await prepare(url);
}

// What a build has for the garage is kept before anybody asks for it, again each time that the build has changed.
const preparing = new Set();
async function prepare(url) {
  const [build] = new URL(url).pathname.match(/^\/builds\/\d+(?=\/)/) || [];
  if (!build || preparing.has(build)) return;
  preparing.add(build);
  try {
    const cache = await caches.open(CACHE);
    const list = `${build}/at-hand`;
    const before = await cache.match(list).then((kept) => kept?.json());
    if (before && Date.now() - before.asked < AT_HAND) return;
    const { revision, pages } = await (await fetch(list)).json();
    if (revision !== before?.revision) for (const page of pages) await keep(page, await fetch(page));
    await cache.put(list, Response.json({ revision, asked: Date.now() }));
  } finally {
    preparing.delete(build);
  }
}

async function forget() {
  const cache = await caches.open(CACHE);
  for (const asked of await cache.keys()) {
    if (!new URL(asked.url).pathname.startsWith("/static/")) await cache.delete(asked, ANY);
  }
}

async function copy(url) {
  const page = await (await caches.open(CACHE)).match(url, ANY);
  if (!page) return null;
  const when = new Date(page.headers.get("Date") || Date.now());
  const today = when.toDateString() === new Date().toDateString();
  const said = when.toLocaleString([], today ? { timeStyle: "short" } : { dateStyle: "medium", timeStyle: "short" });
  const notice = `<p class="notice" id="copy">This is a copy of ${said}: the server did not answer.</p>`;
  const text = (await page.text()).replace('<p id="status"', `${notice}<p id="status"`);
  return new Response(text, { status: 200, headers: page.headers });
}

async function page(event) {
  const { url } = event.request;
  const asked = fetch(event.request);
  event.waitUntil(asked.then((answer) => arrived(url, answer.clone())).catch(() => {}));
  const late = new Promise((done) => { setTimeout(done, PATIENCE); }).then(() => copy(url));
  const first = await Promise.race([asked, late]).catch(() => null);
  return first || (await copy(url)) || asked;
}

// A page that is open asks for itself again after what it sent: its copy is to tell that too.
async function again({ request }) {
  const answer = await fetch(request);
  await keep(request.url, answer.clone());
  return answer;
}

async function file(request) {
  const cache = await caches.open(CACHE);
  const kept = await cache.match(request, ANY);
  if (kept) return kept;
  const answer = await fetch(request);
  if (answer.ok) await cache.put(request, answer.clone());
  return answer;
}

addEventListener("fetch", (event) => {
  const { method, mode, url, headers } = event.request;
  const { pathname } = new URL(url);
  if (method === "POST" && pathname === "/sign-out") event.waitUntil(forget());
  if (method !== "GET" || !url.startsWith(location.origin)) return;
  if (pathname.startsWith("/static/")) event.respondWith(file(event.request));
  else if (mode === "navigate") event.respondWith(page(event));
  else if (headers.has("Whole-Page")) event.respondWith(again(event));
});
