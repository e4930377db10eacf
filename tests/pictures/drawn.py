"""Plain pictures drawn for the tests, as bytes and back."""

import io
import random

from PIL import Image, ImageChops, ImageDraw, ImageFilter, ImageFont


def saved(image: Image.Image, form: str = "PNG", **settings: object) -> bytes:
    out = io.BytesIO()
    image.save(out, form, **settings)
    return out.getvalue()


def opened(data: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(data))
    image.load()
    return image


def half_red(w: int = 40, h: int = 20) -> Image.Image:
    """Red on the left, blue on the right."""
    image = Image.new("RGB", (w, h), "blue")
    image.paste((255, 0, 0), (0, 0, w // 2, h))
    return image


def marked_body(lines: tuple[str, ...] = ("104K 100V", "74LS04N 8213"), size: float = 16.5) -> Image.Image:
    """Sharp light print, capitals 12 px high, on a dark body, as a mask: 255 is print."""
    mask = Image.new("L", (150, 52), 0)
    font = ImageFont.load_default(size)
    for row, line in enumerate(lines):
        ImageDraw.Draw(mask).text((8, 2 + 21 * row), line, font=font, fill=255)
    return mask


def badly_lit(mask: Image.Image) -> Image.Image:
    """The print 12 % lighter than its body, out of focus, noisy, lit from the right."""
    grain = random.Random(7)
    body = Image.new("L", mask.size, 110)
    body.paste(110 + 30, mask=mask)
    body = body.filter(ImageFilter.GaussianBlur(1.0))
    for y in range(body.height):
        for x in range(body.width):
            level = body.getpixel((x, y)) * (0.75 + 0.5 * x / body.width) + grain.gauss(0, 3)
            body.putpixel((x, y), round(level))
    return body.convert("RGB")


def share_of_print_seen(picture: bytes, mask: Image.Image) -> float:
    """How many pixels one threshold over the whole picture puts on the right side, at the best threshold."""
    image = opened(picture).convert("L")
    ink = mask.resize(image.size, Image.Resampling.BICUBIC).point(lambda level: 255 * (level > 127))
    on = image.histogram(ink)
    off = image.histogram(ImageChops.invert(ink))
    # Print and ground count the same, however little print there is.
    rates = [(sum(on[t:]) / sum(on) + sum(off[:t]) / sum(off)) / 2 for t in range(256)]
    return max(rates)
