/* Keeps one page that holds nothing of anybody, and the files it is drawn with. It never answers a post, JSON or any
   private page: those go to the log or nowhere. */
"use strict";
const NAME = "{{ name }}";
const FILES = {{ files|safe }};

self.addEventListener("install", function (event) {
  event.waitUntil(caches.open(NAME).then(function (cache) {
    return cache.addAll(FILES.map(function (file) { return new Request(file, { cache: "reload", credentials: "omit" }); }));
  }).then(function () { return self.skipWaiting(); }));
});

self.addEventListener("activate", function (event) {
  event.waitUntil(caches.keys().then(function (names) {
    return Promise.all(names.filter(function (name) { return name.startsWith("offline-") && name !== NAME; }).map(function (name) { return caches.delete(name); }));
  }).then(function () { return self.clients.claim(); }));
});

self.addEventListener("fetch", function (event) {
  const request = event.request;
  if (request.method !== "GET") return;
  const path = new URL(request.url).pathname;
  if (request.mode === "navigate") {
    event.respondWith(fetch(request).catch(function () {
      return caches.match("/offline/").then(function (page) { return page || Response.error(); });
    }));
  } else if (FILES.includes(path) && path !== "/offline/") {
    event.respondWith(caches.match(request, { cacheName: NAME, ignoreVary: true }).then(function (kept) { return kept || fetch(request); }));
  }
});
