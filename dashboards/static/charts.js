// Draws the charts that the server describes, in the colours and the width of the page.
"use strict";
(() => {
  const section = document.getElementById("charts");
  if (!section) return;
  const NARROW_PX = 480;
  const coarse = matchMedia("(pointer: coarse)");
  const dark = matchMedia("(prefers-color-scheme: dark)");
  let described = "";

  const dressed = (layout, width) => {
    const ink = getComputedStyle(document.body).color;
    const narrow = width < NARROW_PX;
    const worn = { ...layout, font: { ...layout.font, color: ink }, width };
    if (coarse.matches) worn.dragmode = false;
    worn.hoverlabel = { font: { family: layout.font.family, size: 14 } };
    if (narrow) {
      worn.margin = { ...layout.margin, l: 40, r: 6 };
      worn.xaxis = { ...layout.xaxis, nticks: 5 };
    }
    return worn;
  };

  // By night the sky blue of the same set stands out where the blue would not.
  const coloured = (text) => dark.matches
    ? text.replaceAll("#0072B2", "#56B4E9").replaceAll("rgba(0,114,178", "rgba(86,180,233")
    : text;

  const draw = () => {
    if (!described) return;
    const figures = JSON.parse(coloured(described));
    for (const place of section.querySelectorAll("[data-figure]")) {
      const figure = figures[place.dataset.figure];
      if (!figure) continue;
      const waiting = place.querySelector(".waiting");
      if (waiting) waiting.remove();
      place.style.minHeight = `${figure.layout.height}px`;
      const layout = dressed(figure.layout, place.clientWidth);
      Plotly.react(place, figure.data, layout, { displayModeBar: false });
    }
  };

  const load = async () => {
    try {
      const answer = await fetch(section.dataset.charts, { cache: "no-store" });
      if (!answer.ok) return;
      const text = await answer.text();
      if (text === described) return;
      described = text;
    } catch (_error) {
      return; // the page itself says that the link is down
    }
    draw();
  };

  let width = section.clientWidth;
  addEventListener("resize", () => {
    if (section.clientWidth === width) return;
    width = section.clientWidth;
    draw();
  });
  dark.addEventListener("change", draw);
  document.addEventListener("refreshed", load);
  load();
})();
