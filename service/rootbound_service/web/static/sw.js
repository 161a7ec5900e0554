// Opens the dig card where there is no network, and sends what waits when there is one again.
"use strict";

importScripts("/s/waiting.js");

const PAGES = "rootbound-pages";
const FILES = "rootbound-files";
const MOST_PAGES = 60;
const FRESH = 6 * 3600 * 1000;
const KEPT_PATH = /^\/(dig-list|fields\/\d+\/dig)$/;
const OUR_FILES = /\/s\/[\w.]+\?[0-9a-f]{12}/g;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("message", (event) => {
  if (event.data && event.data.keep) event.waitUntil(keepEach(event.data.keep));
});

self.addEventListener("sync", (event) => {
  if (event.tag === "dig-cards") event.waitUntil(sync());
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const at = new URL(request.url);
  if (request.method !== "GET" || at.origin !== location.origin) return;
  if (request.mode === "navigate") event.respondWith(page(request, at));
  else if (at.pathname.startsWith("/s/")) event.respondWith(file(request, at));
});

async function sync() {
  const results = await self.digCards.sendAll();
  if (results.some((one) => one.state === "offline")) throw new Error("try again later");
}

async function page(request, at) {
  try {
    const answer = await fetch(request);
    if (KEPT_PATH.test(at.pathname)) await put(at.pathname, answer.clone());
    return answer;
  } catch {
    const kept = KEPT_PATH.test(at.pathname) && await caches.match(at.pathname, { cacheName: PAGES });
    return kept || noNetwork();
  }
}

async function file(request, at) {
  const kept = at.search && await caches.match(request, { cacheName: FILES });
  if (kept) return kept;
  try {
    const answer = await fetch(request);
    if (answer.ok && at.search) await (await caches.open(FILES)).put(request, answer.clone());
    return answer;
  } catch {
    return (await caches.match(at.pathname, { cacheName: FILES, ignoreSearch: true })) || Response.error();
  }
}

// Pages of whoever is signed in, by their path; what is no page of ours is not kept.
async function put(path, answer) {
  if (answer.status !== 200 || answer.redirected) return;
  const pages = await caches.open(PAGES);
  const text = await answer.text();
  const kept = text.replace('id="dig"', 'id="dig" data-kept');  // its day is looked at anew
  await pages.put(path, new Response(kept, {
    headers: {
      "Content-Type": "text/html; charset=utf-8",
      "Content-Security-Policy": answer.headers.get("Content-Security-Policy") || "",
      "Kept-At": String(Date.now()),
    },
  }));
  const files = await caches.open(FILES);
  for (const name of new Set(text.match(OUR_FILES) || [])) {
    if (!(await files.match(name))) await files.add(name).catch(() => {});
  }
  const keys = await pages.keys();
  for (const old of keys.slice(0, Math.max(0, keys.length - MOST_PAGES))) await pages.delete(old);
}

async function keepEach(paths) {
  for (const path of paths.filter((one) => KEPT_PATH.test(one))) {
    const kept = await caches.match(path, { cacheName: PAGES });
    if (kept && Date.now() - Number(kept.headers.get("Kept-At")) < FRESH) continue;
    try {
      await put(path, await fetch(path, { credentials: "same-origin", redirect: "manual" }));
    } catch {
      return;  // no network: another time
    }
  }
}

async function noNetwork() {
  const pages = await caches.open(PAGES);
  const rows = [];
  for (const request of await pages.keys()) {
    const text = await (await pages.match(request)).text();
    const title = (text.match(/<title>([^<]*) - Rootbound<\/title>/) || [])[1] || "a page";
    rows.push(`<li><a class="read" href="${new URL(request.url).pathname}">${title}</a></li>`);
  }
  const cards = (await self.digCards.all().catch(() => [])).filter((one) => !one.at);
  const waits = cards.length ? `<p class="said">Dig cards on this phone, not sent yet: ${cards.length}.</p>` : "";
  const body = `<!DOCTYPE html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>No network - Rootbound</title><link rel="stylesheet" href="/s/pages.css"><header><b>Rootbound</b></header><main>
<h1>No network here</h1>${waits}<p>These pages are kept on this phone. A card filled in now waits until there is network, and is sent then.</p>
<ul class="plain">${rows.join("") || "<li>None yet: open the dig list once where there is network.</li>"}</ul></main></html>`;
  return new Response(body, { status: 503, headers: {
    "Content-Type": "text/html; charset=utf-8",
    "Content-Security-Policy": "default-src 'none'; style-src 'self'; base-uri 'none'; form-action 'none'",
  } });
}
