// A press on the picture fills in where it was; the fields can be typed into as well.
"use strict";

document.querySelectorAll("[data-spots]").forEach((picture) => {
  const [x, y] = ["x", "y"].map((name) => document.getElementById(name));
  if (!x || !y) return;
  const here = picture.querySelector(".here");
  picture.addEventListener("click", (event) => {
    const box = picture.getBoundingClientRect();
    x.value = ((event.clientX - box.left) / box.width).toFixed(3);
    y.value = ((event.clientY - box.top) / box.height).toFixed(3);
    [x, y].forEach((field) => field.dispatchEvent(new Event("input", { bubbles: true })));
    here.setAttribute("cx", Number(x.value) * picture.viewBox.baseVal.width);
    here.setAttribute("cy", Number(y.value) * picture.viewBox.baseVal.height);
    here.toggleAttribute("hidden", false);
  });
});
