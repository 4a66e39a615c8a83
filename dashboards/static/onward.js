// After a press of the hand the next question comes up; keys, which walk through answers, stay.
"use strict";
(() => {
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  document.addEventListener("click", (event) => {
    const label = event.target.closest("form.asked label");
    const next = label && label.closest("fieldset").nextElementSibling;
    if (next) next.scrollIntoView({ behavior: calm.matches ? "auto" : "smooth", block: "start" });
  });
})();
