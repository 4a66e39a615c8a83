// Day or night: as the phone says, or as somebody chose on this phone. Runs before anything shows.
"use strict";
(() => {
  const KEPT = "look";
  const read = () => {
    try { return localStorage.getItem(KEPT) || ""; } catch (_error) { return ""; }
  };
  const wear = (look) => {
    if (look) document.documentElement.dataset.look = look;
    else delete document.documentElement.dataset.look;
    for (const button of document.querySelectorAll("#looks button")) {
      button.setAttribute("aria-pressed", String(button.dataset.look === look));
    }
  };
  wear(read());
  document.addEventListener("DOMContentLoaded", () => {
    const looks = document.getElementById("looks");
    if (!looks) return;
    looks.hidden = false;
    wear(read());
    looks.addEventListener("click", (event) => {
      const button = event.target.closest("button");
      if (!button) return;
      try { localStorage.setItem(KEPT, button.dataset.look); } catch (_error) { /* for this page only */ }
      wear(button.dataset.look);
      document.dispatchEvent(new Event("look-changed"));
    });
  });
})();
