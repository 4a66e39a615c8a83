// Keeps each page as it was last answered, for when the line drops: shown with how old it is.
"use strict";
const KEPT = "kept-pages";

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

const keep = async (path, answer) => {
  const headers = new Headers(answer.headers);
  headers.set("X-Kept-At", String(Date.now()));
  const store = await caches.open(KEPT);
  await store.put(path, new Response(await answer.blob(), { headers }));
};

// Whoever is asked to sign in again, or signs out, leaves nothing of the shop behind.
const forget = () => caches.delete(KEPT);
const DOOR = "/sign-in";
const NOT_KEPT = [DOOR, "/phones"];

const page = async (event, path, plain) => {
  try {
    const answer = await fetch(event.request);
    if (answer.ok && path === DOOR) event.waitUntil(forget());
    if (answer.ok && plain && !NOT_KEPT.includes(path)) event.waitUntil(keep(path, answer.clone()));
    return answer;
  } catch (lost) {
    const kept = await caches.match(path);
    if (!kept) throw lost;
    const at = kept.headers.get("X-Kept-At");
    const text = (await kept.text()).replace("<html ", `<html data-kept-at="${at}" `);
    return new Response(text, { headers: kept.headers });
  }
};

// A file's address changes with its content, so one that is kept is right for good.
const file = async (event, path) => {
  const kept = await caches.match(path);
  if (kept) return kept;
  const answer = await fetch(event.request);
  if (answer.ok) event.waitUntil(keep(path, answer.clone()));
  return answer;
};

self.addEventListener("fetch", (event) => {
  const { origin, pathname, search } = new URL(event.request.url);
  if (event.request.method === "POST" && origin === self.location.origin && pathname === "/sign-out") {
    event.waitUntil(forget());
  }
  if (event.request.method !== "GET" || origin !== self.location.origin) return;
  if (pathname.startsWith("/static/")) event.respondWith(file(event, pathname));
  else if (event.request.mode === "navigate") event.respondWith(page(event, pathname, !search));
});
