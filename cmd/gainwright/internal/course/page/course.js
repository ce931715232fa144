// What the pages of all learning systems share: a line for what the user has to know, and
// the end.
"use strict";
// The scene lies packed in the package; a server may undo that, and know no type for it.
globalThis.gainwrightSite = {
  lessons: [], fresh: false, kept: false, take() {},
  async scene(address) {
    const response = await fetch(address);
    if (!response.ok) return response;
    const reader = response.body.getReader();
    let head = await reader.read();
    const first = head.value || [];
    let body = new ReadableStream({
      async pull(to) {
        const { done, value } = head || await reader.read();
        head = null;
        if (done) to.close(); else to.enqueue(value);
      },
    });
    if (first[0] === 0x1f && first[1] === 0x8b) body = body.pipeThrough(new DecompressionStream("gzip"));
    return new Response(body, { headers: { "Content-Type": "application/wasm" } });
  },
};
gainwrightCourse.say = words => {
  let line = document.getElementById("changes");
  if (!line) {
    line = document.createElement("p");
    line.id = "changes";
    line.className = "bad";
    line.setAttribute("role", "alert");
    document.body.append(line);
  }
  line.textContent = words;
};
gainwrightCourse.closed = () => {
  const main = document.createElement("main"), title = document.createElement("h1"), words = document.createElement("p"), cover = document.createElement("div");
  title.textContent = "The lesson is closed.";
  words.textContent = "You can close this page. Open the lesson from your course to go on.";
  cover.id = "start";
  cover.setAttribute("role", "alert");
  main.append(title, words);
  cover.append(main);
  document.getElementById("start")?.remove();
  document.body.append(cover);
  if (window.opener && window.top === window) window.close();
};
