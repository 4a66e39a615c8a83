// Minutes that run, and a screen that stays awake while somebody mixes.
"use strict";
(() => {
  const run = () => {
    const place = document.querySelector("[data-since]");
    if (!place) return;
    // The shop's own clock, not the phone's: only what passed since the page was written is ours.
    if (place.dataset.stands !== run.stands) {
      run.stands = place.dataset.stands;
      run.from = performance.now();
    }
    const began = Date.parse(place.dataset.stands) - Date.parse(place.dataset.since);
    const minutes = String(Math.max(0, Math.floor((began + performance.now() - run.from) / 60000)));
    if (place.textContent !== minutes) place.textContent = minutes;
  };
  run();
  setInterval(run, 1000);
  document.addEventListener("refreshed", run);

  const note = document.getElementById("awake");
  const say = (words) => {
    note.hidden = false;
    note.textContent = words;
  };
  const wake = async () => {
    if (!navigator.wakeLock) {
      say("This browser can't keep the screen on here: set the phone's screen time longer.");
      return;
    }
    try {
      await navigator.wakeLock.request("screen");
      say("The screen stays on while this page is open.");
    } catch (_error) {
      say("The screen may go dark: the phone did not allow keeping it on.");
    }
  };
  document.addEventListener("visibilitychange", () => document.hidden || wake());
  wake();
})();
