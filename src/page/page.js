"use strict";
// The page works without this: it adds closer views, seeking, and what is lit while it sounds.
(() => {
  const all = (selector) => [...document.querySelectorAll(selector)];
  const strip = document.querySelector(".strip"), svg = strip.querySelector("svg"), head = strip.querySelector(".head");
  const scaled = svg.querySelector(".scaled"), labels = [...svg.querySelectorAll("text")];
  const texts = labels.map((label) => ({ label, at: +label.dataset.at, room: +label.dataset.room, width: 7 * label.textContent.replace(/[\u2068\u2069]/g, "").length + 4 }));
  const length = +svg.dataset.len, height = svg.getAttribute("height"), MOST = 48, STEP = 1.6;
  const sound = document.querySelector("audio"), words = document.querySelector("p.now");
  let scale = 0;

  // Pixels a second; what lies in the middle stays there, or `around`, a time.
  function zoom(to, around) {
    const whole = strip.clientWidth / length;
    const middle = around ?? (strip.scrollLeft + strip.clientWidth / 2) / (scale || whole);
    scale = Math.min(Math.max(to, whole), Math.max(MOST, whole));
    const width = Math.max(1, Math.round(scale * length));
    svg.setAttribute("width", width);
    svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    // A wide view would run single beats together: a beat is about a second.
    svg.dataset.detail = scale > 5 ? 3 : scale > 1.2 ? 2 : 1;
    scaled.setAttribute("transform", `scale(${scale} 1)`);
    for (const { label, at, room, width } of texts) {
      label.setAttribute("x", (at * scale).toFixed(1));
      label.classList.toggle("off", room * scale < width);
    }
    strip.scrollLeft = middle * scale - strip.clientWidth / 2;
    show();
  }

  const rects = [...svg.querySelectorAll("rect[data-cue]")];
  const items = new Map(all("#said li").map((item) => [+item.dataset.cue, item]));
  const cues = rects.map((rect) => {
    const at = +rect.dataset.at, item = items.get(+rect.dataset.cue);
    return { at, end: at + Math.max(+rect.getAttribute("width"), 0.05), rect, item };
  });
  const gos = cues.filter(({ rect }) => rect.classList.contains("go")).map(({ at }) => at);
  let lit = new Set(), seen = 0;

  // The last cue that has begun by a time.
  function begun(time) {
    let low = 0, high = cues.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (cues[middle].at <= time) low = middle + 1; else high = middle;
    }
    return low - 1;
  }

  function show() {
    const time = sound ? sound.currentTime : seen;
    head.style.transform = `translateX(${(time * scale).toFixed(1)}px)`;
    if (!sound) return;
    const now = new Set();
    // No cue is longer than half a minute; those that still sound are among the last that began.
    for (let k = begun(time); k >= 0 && time - cues[k].at < 30; k -= 1) if (time < cues[k].end) now.add(cues[k]);
    for (const cue of lit) if (!now.has(cue)) for (const place of [cue.rect, cue.item]) place?.classList.remove("now");
    for (const cue of now) if (!lit.has(cue)) for (const place of [cue.rect, cue.item]) place?.classList.add("now");
    const said = [...now].find((cue) => cue.item);
    if (said && !lit.has(said)) words.textContent = said.item.textContent.replace(/^\S+\s+/, "");
    lit = now;
  }

  function follow() {
    const x = sound.currentTime * scale - strip.scrollLeft;
    if (x < 0 || x > strip.clientWidth * 0.9) strip.scrollLeft = sound.currentTime * scale - strip.clientWidth * 0.1;
  }

  let running = false;
  function run() {
    show();
    running = !sound.paused && !sound.ended;
    if (running) { follow(); requestAnimationFrame(run); }
  }

  function seek(time) {
    const to = Math.min(Math.max(time, 0), length);
    head.hidden = false;
    seen = to;
    if (sound) sound.currentTime = to;
    strip.scrollLeft = to * scale - strip.clientWidth / 2;
    show();
  }

  const step = (by) => {
    const now = sound.currentTime, near = by > 0 ? gos.find((go) => go - 5 > now + 0.01) : gos.findLast((go) => go - 5 < now - 1);
    if (near !== undefined) seek(near - 5);
  };

  document.querySelector(".controls").addEventListener("click", ({ target }) => {
    const way = target.dataset.zoom;
    if (way) zoom(way === "all" ? 0 : way === "in" ? scale * STEP : scale / STEP);
  });
  svg.addEventListener("click", (event) => seek((event.clientX - svg.getBoundingClientRect().left) / scale));
  document.querySelector("#said").addEventListener("click", ({ target }) => {
    if (target.dataset.to === undefined) return;
    if (scale * 60 < strip.clientWidth / 4) zoom(strip.clientWidth / 60, +target.dataset.to);
    seek(+target.dataset.to);
  });
  if (sound) {
    head.hidden = false;
    sound.addEventListener("play", () => { if (!running) run(); });
    for (const event of ["timeupdate", "seeked", "pause"]) sound.addEventListener(event, show);
    document.querySelector("#player").addEventListener("click", ({ target }) => { if (target.dataset.step) step(+target.dataset.step); });
  }
  const keys = {
    "+": () => zoom(scale * STEP), "-": () => zoom(scale / STEP), "0": () => zoom(0),
    " ": () => sound && (sound.paused ? sound.play() : sound.pause()),
    ArrowLeft: () => sound && seek(sound.currentTime - 5), ArrowRight: () => sound && seek(sound.currentTime + 5),
    "[": () => sound && step(-1), "]": () => sound && step(1),
  };
  document.addEventListener("keydown", (event) => {
    // A key means what the browser makes of it where something that takes keys has the focus; in the drawing arrows scroll.
    const taken = event.target.closest("button, summary, audio, a") || event.ctrlKey || event.altKey || event.metaKey;
    const act = keys[event.key];
    if (taken || !act || (event.key.startsWith("Arrow") && event.target.closest(".strip, .wide")) || (!sound && event.key === " ")) return;
    event.preventDefault();
    act();
  });
  new ResizeObserver(() => { if (scale * length <= strip.clientWidth + 1 || !scale) zoom(0); }).observe(strip);
})();
