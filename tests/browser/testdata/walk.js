// Presses every control that the accessible mirror shows in one scene, those of panels
// that a press opens among them, and tells which. What a press brought is remembered:
// that is how a control that has gone is found again.
//
// common are the controls that are the same in every scene, done the keys pressed in
// scenes before. A key is the scene (none for what is common), the control's ID and,
// for a button, its name: one that begins something ends it under another.
async (tab, common, done, seconds) => {
  const began = performance.now();
  const out = () => performance.now() - began > 1000 * seconds;
  const frame = () => new Promise(r => requestAnimationFrame(() => requestAnimationFrame(r)));
  const fallen = () => document.querySelector("#start")?.innerText || "";
  const element = id => document.querySelector(`#gainwright-controls [data-id="${id}"]`);
  const kinds = { range: "slider", radio: "radio", checkbox: "checkbox", textarea: "textbox", button: "button" };
  const shared = new Set(common); // and what a press on one of these brings
  const own = new Set();          // IDs that the scene shows by itself
  const by = new Map();           // ID: the IDs whose press brought it
  const came = new Map();         // ID: after how many looks it came
  const usable = new Map();       // key: ID, of whatever could be used at some time
  const off = new Map();          // key: why it could not be used so far
  const names = new Map();        // ID: how many of its names were pressed
  const pressed = new Set(done);
  const log = [];
  const chosen = new Set();       // IDs of radio buttons that were so at first
  let now = new Map(), looks = 0;

  const look = cause => {
    const was = now;
    looks++;
    // While it is presented the scene is another: its stations open no panels.
    const where = element(tab) ? tab : tab + ".presented";
    now = new Map();
    for (const e of document.querySelectorAll("#gainwright-controls [data-id]")) {
      const role = e.getAttribute("role") === "tab" ? "" : kinds[e.type];
      if (!role) continue;
      const id = e.getAttribute("data-id");
      if (!was.has(id)) {
        if (cause) by.set(id, (by.get(id) || new Set()).add(cause));
        if (cause && shared.has(cause) && !own.has(id)) shared.add(id);
        if (!came.has(id) && role === "radio" && e.checked) chosen.add(id);
        came.set(id, looks);
      }
      if (!shared.has(id)) own.add(id);
      const name = (e.getAttribute("aria-label") || "").split(",")[0].replace(/[\d.]+/g, "#");
      const c = { e, id, role, off: e.getAttribute("aria-disabled") === "true", chosen: chosen.has(id) };
      c.key = (shared.has(id) ? "" : where) + " " + id + (role === "button" ? " " + name : "");
      now.set(id, c);
      if (!c.off) {
        usable.set(c.key, id);
        off.delete(c.key);
      } else if (!usable.has(c.key)) off.set(c.key, e.getAttribute("aria-description") || "");
    }
  };
  // A name that counts trials or tells a state has many forms; three are enough.
  const wanted = (key, id) => !pressed.has(key) && (names.get(id) || 0) < 3;
  const open = () => [...now.values()].filter(c => !c.off && wanted(c.key, c.id));

  const press = async c => {
    if (wanted(c.key, c.id)) names.set(c.id, (names.get(c.id) || 0) + 1);
    pressed.add(c.key);
    log.push(c.key);
    if (c.role === "slider") {
      const lo = +c.e.min, hi = +c.e.max;
      c.e.value = c.e.valueAsNumber > lo + 0.6 * (hi - lo) ? lo + 0.4 * (hi - lo) : lo + 0.7 * (hi - lo);
      c.e.dispatchEvent(new Event("input", { bubbles: true }));
      c.e.dispatchEvent(new Event("change", { bubbles: true }));
    } else if (c.role === "textbox") {
      c.e.value = "Ferry";
      c.e.dispatchEvent(new Event("input", { bubbles: true }));
    } else c.e.click();
    await frame();
    if (scenes.some(id => id !== tab && element(id)?.getAttribute("aria-selected") === "true")) return home(); // it led to another scene
    look(c.id);
    // A second press undoes the first: what is locked locks others.
    if (c.role === "checkbox" && now.has(c.id) && !now.get(c.id).off) {
      now.get(c.id).e.click();
      await frame();
      look(c.id);
    }
  };
  const home = async () => {
    document.body.dispatchEvent(new KeyboardEvent("keydown", { key: "Escape", bubbles: true }));
    await frame();
    element(tab)?.click();
    // The scene before this one may stand for some frames yet; its controls are not this one's.
    for (let n = 0; n < 200 && element(tab) && element(tab).getAttribute("aria-selected") !== "true"; n++) await frame();
    await frame();
    look("");
  };
  // way is how to get to a control: the presses that bring it, from what is there.
  const way = id => {
    const from = new Map([[id, ""]]);
    for (const at of from.keys()) { // grows while it is gone through
      for (const c of by.get(at) || []) {
        if (from.has(c)) continue;
        from.set(c, at);
        if (!now.get(c) || now.get(c).off) continue;
        const path = [];
        for (let x = c; x !== id; x = from.get(x)) path.push(x);
        return path;
      }
    }
    return null;
  };

  const scenes = common.filter(id => element(id)?.getAttribute("role") === "tab");
  await home();
  // Where a guest is still on the way, what is shown is the scene's before.
  for (let n = 0; n < 100 && [...now.values()].some(c => c.off && /sits down/.test(c.e.getAttribute("aria-description"))); n++) {
    await new Promise(r => setTimeout(r, 200));
    look("");
  }
  const first = open().map(c => c.key);
  const tries = new Map();
  const afresh = new Set(); // buttons pressed once more, for what is gone
  let idle = 0, pictures = 0; // seconds, and pictures, spent waiting for work that brings more
  let at = 0;   // of which had passed when the last of them was pressed
  while (!fallen() && !out()) {
    // What came last first, so that panels are gone through while they are open; what
    // came together in its order, in which recording is among the last, as with a take
    // each press costs more. What was chosen at first comes after the others of its group,
    // so that in the end it is again; what only has another name, such as the button
    // that ends what it began, comes last.
    const rank = c => names.has(c.id) ? -2 : c.chosen ? -1 : came.get(c.id);
    const [next] = open().sort((a, b) => rank(b) - rank(a));
    if (next) {
      await press(next);
      continue;
    }
    const gone = [...usable].find(([key, id]) => wanted(key, id) && (tries.get(key) || 0) < 2);
    if (gone) {
      const [key, id] = gone;
      tries.set(key, (tries.get(key) || 0) + 1);
      let path = now.has(id) ? null : way(id);
      if (!path) {
        await home();
        path = now.has(id) ? [] : way(id) || [];
      }
      for (const [i, step] of path.entries()) {
        const c = now.get(step);
        if (!c || c.off) break;
        await press(c);
        for (let n = 0; n < 10 && !now.has(path[i + 1] ?? id); n++) {
          await frame();
          look(step);
        }
      }
      continue;
    }
    // What was there and is gone, without a press that is known to bring it, may come
    // back with work that ends, or with a button that goes on to something else: after
    // a second each of those is pressed again, once.
    const lost = [...usable].some(([key, id]) => wanted(key, id));
    // Long work ends by itself; a machine that does much else needs longer for as many pictures.
    const works = [...now.values()].some(c => c.off && /\b(sits down|is counted)\b/.test(c.e.getAttribute("aria-description")));
    const most = works ? 90 : pictures >= 150 ? 10 : 60;
    if (idle >= most || !lost && !works && ![...off.values()].some(why => /\b(still|yet)\b/.test(why))) break;
    const t = performance.now(), n = gainwright.stats().frames;
    await new Promise(r => setTimeout(r, 200));
    look("");
    idle += (performance.now() - t) / 1000;
    pictures += gainwright.stats().frames - n;
    const onward = lost && idle - at > 1 && [...now.values()].find(c => !c.off && c.role === "button" && own.has(c.id) && !afresh.has(c.key));
    if (onward) {
      at = idle;
      afresh.add(onward.key);
      await press(onward);
      tries.clear();
    }
  }
  const late = out();
  if (!fallen()) await home();
  return {
    fallen: fallen() && fallen() + " after " + log.at(-1), late, idle, log,
    first: first.filter(k => !pressed.has(k)),
    missed: [...usable].filter(([key, id]) => wanted(key, id)).map(([key]) => key),
    off: [...off].map(([key, why]) => key + ": " + why),
    pressed: [...pressed],
  };
}
