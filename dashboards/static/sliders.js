// A slider says where it stands, and the answer follows it; without this the form is sent by hand.
"use strict";
(() => {
  const REST_MS = 250;
  const form = document.getElementById("asking");
  let timer = 0;
  let asked = 0;

  const follow = async () => {
    const mine = ++asked;
    const address = `${form.getAttribute("action")}?${new URLSearchParams(new FormData(form))}`;
    try {
      const answer = await fetch(address, { cache: "no-store" });
      const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
      if (mine !== asked) return;
      document.getElementById("answer").innerHTML = fresh.getElementById("answer").innerHTML;
      history.replaceState(null, "", address);
    } catch (_error) {
      // The page itself says that the link is down.
    }
  };

  form.addEventListener("input", (event) => {
    const said = form.querySelector(`output[for="${event.target.id}"]`);
    if (said) {
      said.textContent = event.target.value + said.dataset.words;
      document.getElementById("heater").checked = true;
    }
    clearTimeout(timer);
    timer = setTimeout(follow, REST_MS);
  });
})();
