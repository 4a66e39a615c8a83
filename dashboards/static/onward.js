// After a press of the hand the next question comes up; keys, which walk through answers, stay.
"use strict";
(() => {
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  let pressed = null;
  document.addEventListener("click", (event) => {
    const label = event.target.closest("form.asked label");
    if (label) {
      pressed = label.control;
      return;
    }
    // The answer itself is clicked after its words, and has taken the focus and the page to it.
    if (!pressed || event.target !== pressed) return;
    pressed = null;
    const next = event.target.closest("fieldset").nextElementSibling;
    if (next) next.scrollIntoView({ behavior: calm.matches ? "auto" : "smooth", block: "start" });
  });
})();
