// Whether two PNG pictures are one to the eye: browsers round some pixels otherwise from one
// frame to the next. `one` and `other` are base64; `page` may be any that allows data: images.
export const alike = (page, one, other) => page.evaluate(async (both) => {
  const ROUNDED = 2;
  const pixels = await Promise.all(both.map(async (bytes) => {
    const image = new Image();
    image.src = `data:image/png;base64,${bytes}`;
    await image.decode();
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [image.width, image.height];
    const context = canvas.getContext("2d");
    context.drawImage(image, 0, 0);
    return context.getImageData(0, 0, image.width, image.height).data;
  }));
  return pixels[0].length === pixels[1].length && pixels[0].every((value, i) => Math.abs(value - pixels[1][i]) <= ROUNDED);
}, [one, other]);
