// A short tone when an alert that may wake someone comes: for whoever switched it on, on this phone.
"use strict";
(() => {
  const ON = "sound";
  const HEARD = "sound-heard";
  const place = document.getElementById("sounds");
  if (!place || !window.AudioContext) return;
  const button = document.getElementById("sound");
  const said = document.getElementById("sound-said");
  let context = null;
  let owed = false;
  let waking = [];

  const read = (name) => {
    try { return localStorage.getItem(name) || ""; } catch (_error) { return ""; }
  };
  const write = (name, value) => {
    try { localStorage.setItem(name, value); } catch (_error) { /* for this page only */ }
  };
  let on = read(ON) === "on";
  let heard = read(HEARD).split(" ").filter(Boolean);

  const show = () => {
    button.setAttribute("aria-pressed", String(on));
    if (on) document.documentElement.dataset.sound = "on";
    else delete document.documentElement.dataset.sound;
    const mute = on && (!context || context.state !== "running");
    const words = !on ? "" : mute
      ? "On, but this browser wants a press on the page first."
      : "Sounds when an alert comes that may wake you, while a page is open here.";
    if (said.textContent !== words) said.textContent = words;
  };

  const tone = () => {
    owed = false;
    const begun = context.currentTime + 0.05;
    for (const [after, pitch] of [[0, 880], [0.3, 660], [0.6, 880]]) {
      const voice = context.createOscillator();
      const loudness = context.createGain();
      voice.frequency.value = pitch;
      loudness.gain.setValueAtTime(0, begun + after);
      loudness.gain.linearRampToValueAtTime(0.4, begun + after + 0.02);
      loudness.gain.linearRampToValueAtTime(0, begun + after + 0.25);
      voice.connect(loudness).connect(context.destination);
      voice.start(begun + after);
      voice.stop(begun + after + 0.26);
    }
  };

  // A browser gives no sound before a press; what was owed until then sounds with it.
  const open = () => {
    if (!context) {
      context = new AudioContext();
      context.addEventListener("statechange", () => {
        if (owed && context.state === "running") tone();
        show();
      });
    }
    context.resume().catch(() => {});
  };
  const sound = () => {
    owed = true;
    open();
    if (context.state === "running") tone();
    show();
  };

  const listen = () => {
    const fresh = waking.filter((id) => !heard.includes(id));
    heard = waking;
    write(HEARD, heard.join(" "));
    if (fresh.length) sound();
  };
  document.addEventListener("waking", (event) => {
    waking = event.detail.split(" ").filter(Boolean);
    if (on) listen();
  });

  button.addEventListener("click", () => {
    on = !on;
    write(ON, on ? "on" : "");
    if (on) {
      // What stands already is no news: one tone, to be known by.
      heard = waking;
      write(HEARD, heard.join(" "));
      sound();
    }
    show();
  });
  for (const press of ["pointerdown", "keydown"]) {
    document.addEventListener(press, () => on && open(), { passive: true });
  }

  place.hidden = false;
  if (!on) {
    show();
    return;
  }
  document.documentElement.dataset.sound = "on";
  button.setAttribute("aria-pressed", "true");
  open();
  // Where sound is allowed it takes a moment to begin.
  setTimeout(show, 600);
})();
