"use strict";
{
  // What is folded away is printed too.
  let folded = [];
  addEventListener("beforeprint", () => {
    folded = [...document.querySelectorAll("details:not([open])")];
    folded.forEach((d) => { d.open = true; });
  });
  addEventListener("afterprint", () => folded.forEach((d) => { d.open = false; }));
  // The page is read while the view is made ready: first it shows a picture.
  requestAnimationFrame(() => setTimeout(() => startView(JSON.parse(document.getElementById("scene").textContent))));
}
