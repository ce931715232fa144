
// Keeps one build of the site, whole, for visits without a network. A new build is fetched
// beside it, each file by what shall be in it, and takes its place when the user says so
// or when no page of the site is open.
const here = new URL("./", self.location).href;
const mine = "gainwright " + new URL(here).pathname + " "; // other sites may lie at the same origin
const kept = mine + own.build;

async function sumOf(body) {
  return Array.from(new Uint8Array(await crypto.subtle.digest("SHA-256", body)), b => b.toString(16).padStart(2, "0")).join("");
}

// ways to a file: of the build before, then from the server, past what the browser has kept
// of an earlier build.
function* ways(file) {
  yield async () => {
    for (const name of await caches.keys()) {
      if (!name.startsWith(mine) || name === kept) continue;
      const r = await (await caches.open(name)).match(here + file.name);
      if (r && r.headers.get("Gainwright-Sum") === file.sum) return r;
    }
    return null;
  };
  const scene = own.scene.startsWith(file.name + "?");
  for (const cache of scene ? ["default", "reload"] : ["no-cache", "reload"]) {
    yield () => scene ? fetchScene(own.scene, { cache }) : fetch(file.name, { cache });
  }
}

async function whole(file) {
  for (const way of ways(file)) {
    const r = await way();
    if (!r || !r.ok) continue;
    const body = await r.arrayBuffer();
    if (await sumOf(body) === file.sum) return new Response(body, { headers: { "Content-Type": file.type, "Content-Length": body.byteLength, "Gainwright-Sum": file.sum } });
  }
  throw new Error(file.name + " is not of this build");
}

async function keep() {
  try {
    const cache = await caches.open(kept);
    for (const file of own.files) await cache.put(here + file.name, await whole(file));
  } catch (e) {
    await caches.delete(kept);
    throw e; // the browser tries again at a later visit
  }
}

async function drop() {
  for (const name of await caches.keys()) {
    if (name.startsWith(mine) && name !== kept) await caches.delete(name);
  }
}

async function answer(name, request) {
  const r = await (await caches.open(kept)).match(here + name);
  return r || fetch(request); // the browser has thrown it away
}

self.addEventListener("install", e => e.waitUntil(keep()));
self.addEventListener("activate", e => e.waitUntil(drop()));
self.addEventListener("message", e => { if (e.data === "take") self.skipWaiting(); });
self.addEventListener("fetch", e => {
  const address = e.request.url.split(/[?#]/)[0];
  if (e.request.method !== "GET" || !address.startsWith(here)) return;
  const name = address.slice(here.length) || "index.html";
  if (own.files.some(f => f.name === name)) e.respondWith(answer(name, e.request));
});
