// Draws the charts that the server describes, and looks closer at all of them at once.
"use strict";
(() => {
  const section = document.getElementById("charts");
  if (!section) return;
  const SHORTEST_S = 120;
  const DAY_S = 86400;
  const coarse = matchMedia("(pointer: coarse)");
  const night = matchMedia("(prefers-color-scheme: dark)");
  const places = [...section.querySelectorAll("[data-figure]")];
  const shown = document.getElementById("charts-shown");
  let described = "";
  let asked = null; // {from, to} in Unix seconds; null: all of it, to the first that is guessed
  let meta = null;
  let moving = false;
  let pending = null;

  const dark = () => {
    const look = document.documentElement.dataset.look;
    return look ? look === "dark" : night.matches;
  };

  // By night the sky blue of the same set stands out where the blue would not.
  const coloured = (text) => dark()
    ? text.replaceAll("#0072B2", "#56B4E9").replaceAll("rgba(0,114,178", "rgba(86,180,233")
    : text;

  const width = () => places[0].clientWidth;
  const unix = (x) => Date.parse(`${x.replace(" ", "T").slice(0, 19)}Z`) / 1000 - meta.offset_s;

  // The axis goes by the clock as it is at its end: before a change the clock read otherwise.
  const clockAt = (x) => {
    const change = meta.shifts.find(([at]) => x < at);
    const local = new Date(Date.parse(`${x}Z`) + (change ? change[1] : 0) * 1000);
    return local.toLocaleString("en-GB", {
      timeZone: "UTC", hour: "2-digit", minute: "2-digit", weekday: "short",
    });
  };

  const toldByClock = (figure) => {
    if (!meta.shifts.length) return;
    figure.layout.xaxis.unifiedhovertitle = { text: " " };
    for (const trace of figure.data) {
      if (!trace.hovertemplate) continue;
      trace.text = trace.x.map((x) => x && clockAt(x));
      trace.hovertemplate = `%{text}: ${trace.hovertemplate}`;
    }
  };

  const dressed = (layout) => {
    const ink = getComputedStyle(document.body).color;
    const paper = getComputedStyle(document.body).backgroundColor;
    const worn = { ...layout, font: { ...layout.font, color: ink }, width: width() };
    if (coarse.matches) worn.dragmode = false;
    worn.hoverlabel = { font: { family: layout.font.family, size: 14, color: ink }, bgcolor: paper };
    return worn;
  };

  const draw = async () => {
    if (!described) return;
    const figures = JSON.parse(coloured(described));
    meta = Object.values(figures)[0].layout.meta;
    shown.textContent = meta.said;
    moving = true;
    for (const place of places) {
      const figure = figures[place.dataset.figure];
      if (!figure) continue;
      const waiting = place.querySelector(".waiting");
      if (waiting) waiting.remove();
      place.style.minHeight = `${figure.layout.height}px`;
      toldByClock(figure);
      await Plotly.react(place, figure.data, dressed(figure.layout), {
        displayModeBar: false, doubleClick: false,
      });
      if (place.dataset.watched) continue;
      place.dataset.watched = "yes";
      place.on("plotly_relayout", (change) => moved(place, change));
      place.on("plotly_doubleclick", () => look(null));
    }
    moving = false;
  };

  const load = async () => {
    if (pending) pending.abort();
    const mine = new AbortController();
    pending = mine;
    const query = new URLSearchParams({ px: String(Math.round(width())) });
    if (asked) {
      query.set("from", new Date(asked.from * 1000).toISOString());
      query.set("to", new Date(asked.to * 1000).toISOString());
    }
    try {
      const answer = await fetch(`${section.dataset.charts}?${query}`, {
        cache: "no-store", signal: mine.signal,
      });
      if (!answer.ok) return;
      const text = await answer.text();
      if (text === described) return;
      described = text;
    } catch (_error) {
      return; // overtaken by the next look, or the page itself says that the link is down
    }
    await draw();
  };

  const look = (range) => {
    asked = range;
    return load();
  };

  // One chart was dragged across: the others go along at once, and what is nearer is fetched.
  const moved = (place, change) => {
    const from = change["xaxis.range[0]"];
    const to = change["xaxis.range[1]"];
    if (moving || !from || !to) return;
    let range = { from: unix(from), to: unix(to) };
    if (range.to - range.from < SHORTEST_S) {
      const middle = (range.from + range.to) / 2;
      range = { from: middle - SHORTEST_S / 2, to: middle + SHORTEST_S / 2 };
    }
    moving = true;
    const others = places.filter((other) => other !== place && other.dataset.watched);
    Promise.all(others.map((other) => Plotly.relayout(other, { "xaxis.range": [from, to] })))
      .finally(() => { moving = false; look(range); });
  };

  // About now where now is in sight, else about the middle.
  const scaled = (by) => {
    const { start_s: start, end_s: end, now_s: now } = meta;
    const about = start < now && now <= end ? now : (start + end) / 2;
    return { from: about - (about - start) * by, to: about + (end - about) * by };
  };

  const shifted = (by) => {
    const step = (meta.end_s - meta.start_s) * by;
    return { from: meta.start_s + step, to: meta.end_s + step };
  };

  const last = (length) => ({
    from: Math.max(meta.now_s - length, meta.whole_s[0]), to: meta.now_s,
  });

  const within = (range) => {
    const [first, end] = meta.whole_s;
    const length = Math.min(Math.max(range.to - range.from, SHORTEST_S), end - first);
    const from = Math.min(Math.max(range.from, first), end - length);
    return { from, to: from + length };
  };

  const LOOKS = {
    all: () => null,
    day: () => last(DAY_S),
    hours: () => last(DAY_S / 4),
    closer: () => within(scaled(0.5)),
    wider: () => within(scaled(2)),
    earlier: () => within(shifted(-0.5)),
    later: () => within(shifted(0.5)),
  };

  const bar = document.getElementById("charts-look");
  bar.hidden = false;
  document.getElementById("charts-drag").hidden = coarse.matches;
  bar.addEventListener("click", (event) => {
    const button = event.target.closest("[data-look]");
    if (button && meta) look(LOOKS[button.dataset.look]());
  });

  let before = width();
  addEventListener("resize", () => {
    if (width() === before) return;
    before = width();
    draw();
    load();
  });
  night.addEventListener("change", draw);
  document.addEventListener("look-changed", draw);
  document.addEventListener("refreshed", load);
  load();
})();
