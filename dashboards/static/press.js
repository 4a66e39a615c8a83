// Whatever is sent is sent once, and only while the line holds: a press must not get lost unseen.
"use strict";
(() => {
  const PATIENCE_MS = 4000;
  const UNDERWAY_MS = 8000;
  const banner = document.getElementById("link-down");
  const sure = new WeakSet();
  let underway = new WeakMap();

  const say = (words) => {
    banner.hidden = false;
    banner.textContent = words;
  };

  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (form.method !== "post" || form.matches("[data-seen]") || sure.delete(form)) return;
    event.preventDefault();
    if (performance.now() - (underway.get(form) ?? -UNDERWAY_MS) < UNDERWAY_MS) return;
    underway.set(form, performance.now());
    const button = event.submitter;
    try {
      const answer = await fetch("/alive", { cache: "no-store", signal: AbortSignal.timeout(PATIENCE_MS) });
      if (!answer.ok) throw new Error(String(answer.status));
    } catch (_error) {
      underway.delete(form);
      say("No link: that was not logged. Press again when this line is gone.");
      return;
    }
    sure.add(form);
    form.requestSubmit(button);
  });

  // Back from another page, a form can be sent again.
  addEventListener("pageshow", () => { underway = new WeakMap(); });

  const just = document.getElementById("just");
  const takeBack = just && just.querySelector("[data-take-back]");
  if (takeBack) {
    let left = Number(just.dataset.seconds);
    const button = takeBack.querySelector("button");
    const words = button.textContent;
    const tick = () => {
      button.textContent = `${words} (${left} s)`;
      if (left-- > 0) setTimeout(tick, 1000);
      else takeBack.hidden = true;
    };
    tick();
  }
})();
