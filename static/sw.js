// The service worker: without a connection it opens the last seen Bench, with the
// scripts and styles it needs. Taps it leaves alone; the page keeps those.
"use strict";

const cacheName = "faceside";
const patienceMs = 4000; // for the Bench, where a kept one is at hand
const bench = "/";
const live = "/bench", ahead = "/bench/ahead"; // what the bench fetches of itself
let benches = 0; // kept since this worker runs

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (e) => e.waitUntil(self.clients.claim()));

self.addEventListener("message", (e) => {
  if (e.data?.keep) e.waitUntil(keep(e.data.keep, e.data.anew));
});

// keep fetches what a page was made of before this worker was there, and the
// Bench where none was seen yet or it is to be fetched anew.
async function keep(files, anew) {
  const cache = await caches.open(cacheName);
  for (const file of files) {
    if (!await cache.match(file)) await fetchInto(cache, file);
  }
  if (anew || !await cache.match(bench)) await fetchInto(cache, bench);
  if (anew || !await cache.match(ahead)) await fetchInto(cache, ahead, { headers: { "HX-Request": "true" } });
}

async function fetchInto(cache, url, options) {
  try {
    const answer = await fetch(url, options);
    if (!answer.ok || answer.redirected) return;
    if (url === bench) await keepBench(cache, answer);
    else await cache.put(url, answer);
  } catch {
    // not now: the next page asks again
  }
}

// keepBench keeps a whole Bench. What was fetched of an earlier one is older, and may be
// another person's.
async function keepBench(cache, answer) {
  benches++;
  await cache.delete(live);
  await cache.put(bench, answer);
}

self.addEventListener("fetch", (e) => {
  const url = new URL(e.request.url);
  if (e.request.method !== "GET" || url.origin !== self.location.origin) return;
  if (url.pathname.startsWith("/static/")) e.respondWith(file(e.request, url));
  else if (e.request.mode === "navigate") e.respondWith(page(e.request, url));
  else if ([live, ahead].includes(url.pathname) && e.request.headers.has("HX-Request")) e.respondWith(part(e.request, url));
});

// file answers with a kept file: its address changes with its content. Its older
// versions are let go.
async function file(request, url) {
  const cache = await caches.open(cacheName);
  const kept = await cache.match(request);
  if (kept) return kept;
  const answer = await fetch(request);
  if (answer.ok && url.searchParams.has("v")) {
    for (const old of await cache.keys(request, { ignoreSearch: true })) await cache.delete(old);
    await cache.put(request, answer.clone());
  }
  return answer;
}

// page asks the server first. Without an answer the Bench is shown as it was
// seen last, and any other page leads there; a slow answer is waited for, but for
// the Bench.
async function page(request, url) {
  const cache = await caches.open(cacheName);
  const kept = await cache.match(bench);
  const hurry = kept && url.pathname === bench ? new AbortController() : null;
  const timer = hurry && setTimeout(() => hurry.abort(), patienceMs);
  try {
    const answer = await fetch(request, hurry ? { signal: hurry.signal } : undefined);
    clearTimeout(timer); // what has begun to come may take its time
    if (url.pathname === bench && answer.ok && !answer.redirected) await keepBench(cache, answer.clone());
    return answer;
  } catch (failure) {
    if (!kept) throw failure;
    return url.pathname === bench ? kept : Response.redirect(bench);
  }
}

// part keeps what the bench fetches of itself. The live part is no answer for a page
// that asks later on: that shows what was fetched last, and what was tapped off since.
async function part(request, url) {
  const of = benches;
  const cache = await caches.open(cacheName);
  try {
    const answer = await fetch(request);
    const newest = of === benches; // no whole Bench came meanwhile
    if (answer.ok && (newest || url.pathname === ahead)) await cache.put(url.pathname, answer.clone());
    return answer;
  } catch (failure) {
    const kept = url.pathname === ahead && await cache.match(ahead);
    if (!kept) throw failure;
    return kept;
  }
}
