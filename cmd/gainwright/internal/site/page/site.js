
// What the scene asks of its site: the compiled scene, lessons, whether a new version has
// come; and the worker that keeps the site for visits without a network.
{
  const workers = navigator.serviceWorker; // none over plain http
  let registration = null;
  globalThis.gainwrightSite = {
    lessons: own.lessons,
    fresh: false, // a new version is here beside this one
    kept: false,  // all of it is here for visits without a network
    scene: address => workers && workers.controller ? fetch(address) : fetchScene(address, {}),
    // take puts the new version in the place of this one, and loads the page again.
    take() {
      const next = registration && registration.waiting;
      if (!next) return location.reload();
      next.addEventListener("statechange", () => { if (next.state === "activated") location.reload(); });
      next.postMessage("take");
    },
  };
  const site = globalThis.gainwrightSite;

  function look() {
    site.kept = Boolean(registration.active);
    if (!registration.active || !registration.waiting || site.fresh) return;
    site.fresh = true;
    dispatchEvent(new Event("gainwright-fresh"));
  }

  async function keep() {
    registration = await workers.register("worker.js", { updateViaCache: "none" });
    const follow = w => w && w.addEventListener("statechange", look);
    registration.addEventListener("updatefound", () => follow(registration.installing));
    follow(registration.installing);
    look();
    // The browser looks for a new version by itself, though late; and a page that stays
    // open shall notice one, too.
    const ask = () => { registration.update().catch(() => {}); };
    ask();
    setInterval(ask, 3600e3);
    addEventListener("online", ask);
  }

  // After the first picture: until then the line is the scene's.
  if (own.kept && workers) addEventListener("gainwright-picture", () => { keep().catch(e => console.warn("this site is not kept: " + e.message)); }, { once: true });
}
