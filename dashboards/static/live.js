// Keeps a page true: fetches it again when something changed, and swaps only what differs.
"use strict";
(() => {
  const QUIET_REFRESH_MS = 30000;
  const RETRY_MS = 5000;
  const OVERDUE_MS = 45000;
  const banner = document.getElementById("link-down");
  // A page that was kept for when the line drops says when that was.
  const keptAt = Number(document.documentElement.dataset.keptAt || 0);
  let freshAt = performance.now() - (keptAt ? Date.now() - keptAt : 0);
  let fetching = false;
  let again = false;
  let failed = keptAt > 0;
  let source = null;
  let timer = 0;

  const length = (ms) => {
    const minutes = Math.round(ms / 60000);
    return minutes < 1 ? "less than a minute" : minutes === 1 ? "1 minute" : `${minutes} minutes`;
  };

  const sayHowOld = () => {
    const age = performance.now() - freshAt;
    const down = failed || age > OVERDUE_MS;
    banner.hidden = !down;
    if (!down) return;
    const stood = document.querySelector("#as-of b");
    const from = stood ? `, from ${stood.textContent}` : "";
    const words = `No link. What you see is ${length(age)} old${from}. Trying again by itself.`;
    if (banner.textContent !== words) banner.textContent = words;
  };

  // Children with an id are swapped one by one, so that a touched button elsewhere stays put.
  const swap = (old, fresh) => {
    if (old.innerHTML === fresh.innerHTML) return;
    const ids = (node) => [...node.children].map((child) => child.id);
    const before = ids(old);
    const after = ids(fresh);
    const alike = before.length > 0 && before.every((id, i) => id && id === after[i])
      && before.length === after.length;
    if (!alike) {
      old.innerHTML = fresh.innerHTML;
      return;
    }
    [...old.children].forEach((child, i) => {
      if (child.outerHTML !== fresh.children[i].outerHTML) child.replaceWith(fresh.children[i].cloneNode(true));
    });
  };

  // How to find what has the focus once more, after its part of the page was swapped.
  const finger = (node) => {
    if (!node || !node.closest("[data-live]")) return "";
    if (node.matches("a[href]")) return `[data-live] a[href="${CSS.escape(node.getAttribute("href"))}"]`;
    const form = node.matches("button") && node.form;
    const value = form && node.value ? `[value="${CSS.escape(node.value)}"]` : "";
    return form ? `form[action="${CSS.escape(form.getAttribute("action"))}"] button${value}` : "";
  };

  const refresh = async () => {
    if (fetching) {
      again = true;
      return;
    }
    fetching = true;
    clearTimeout(timer);
    try {
      const answer = await fetch(location.href, { cache: "no-store" });
      // Signed out meanwhile: what is shown isn't for this phone any more.
      if (answer.status === 401) location.reload();
      if (!answer.ok) throw new Error(String(answer.status));
      const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
      const held = finger(document.activeElement);
      for (const place of document.querySelectorAll("[data-live]")) {
        const other = fresh.getElementById(place.id);
        if (other) swap(place, other);
      }
      const touched = held && !document.activeElement.matches(held) && document.querySelector(held);
      if (touched) touched.focus({ preventScroll: true });
      failed = false;
      freshAt = performance.now();
      document.dispatchEvent(new Event("refreshed"));
    } catch (_error) {
      failed = true;
    }
    fetching = false;
    sayHowOld();
    timer = setTimeout(refresh, failed ? RETRY_MS : QUIET_REFRESH_MS);
    if (again) {
      again = false;
      refresh();
    }
  };

  const listen = () => {
    if (source) source.close();
    source = new EventSource("/events");
    // What changed while nobody listened is fetched at once.
    source.addEventListener("listening", refresh);
    source.addEventListener("changed", refresh);
    source.addEventListener("waking", (event) => {
      document.dispatchEvent(new CustomEvent("waking", { detail: event.data }));
    });
    source.addEventListener("error", () => {
      if (source.readyState === EventSource.CLOSED) setTimeout(() => document.hidden || listen(), RETRY_MS);
      refresh();
    });
  };

  document.addEventListener("submit", async (event) => {
    const form = event.target.closest("form[data-seen]");
    if (!form) return;
    event.preventDefault();
    form.querySelector("button").disabled = true;
    try {
      const fields = new URLSearchParams(new FormData(form));
      await fetch(form.action, { method: "POST", redirect: "manual", body: fields });
    } catch (_error) {
      failed = true;
    }
    refresh();
  });

  // A browser lends six connections to a host: a page nobody looks at, or listens to, gives its
  // own back.
  document.addEventListener("visibilitychange", () => {
    if (document.hidden && document.documentElement.dataset.sound) return;
    if (document.hidden) {
      if (source) source.close();
      source = null;
      clearTimeout(timer);
    } else {
      listen();
    }
  });
  addEventListener("pagehide", () => source && source.close());
  addEventListener("pageshow", (event) => event.persisted && listen());

  if ("serviceWorker" in navigator) navigator.serviceWorker.register("/keep.js").catch(() => {});
  setInterval(sayHowOld, 5000);
  sayHowOld();
  listen();
})();
