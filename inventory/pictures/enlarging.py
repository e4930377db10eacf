"""A part of a picture enlarged, turned and its contrast brought out, until a faint marking can be read."""

from __future__ import annotations

import io
import math
from typing import Any, Final

from PIL import Image, ImageChops, ImageFilter, ImageOps, ImageStat

from inventory.pictures.shrinking import within
from inventory.pictures.taking_in import one_at_a_time, open_picture

MAX_ENLARGED_PIXELS: Final = 8_000_000
CHANNELS: Final = ("", "grey", "red", "green", "blue")

# What made blurred, low-contrast text 12 px high readable: the settings to offer first.
READABLE: Final[dict[str, Any]] = {
    "scale": 6.0,
    "contrast": 1.0,
    "local_contrast": 3.0,
    "sharpen": 1.5,
    "channel": "grey",
}


class BadEnlargement(ValueError):
    """Enlargement settings out of bounds; `.problems` is ((name, detail), …), all at once."""

    def __init__(self, problems: list[tuple[str, str]]) -> None:
        self.problems = tuple(problems)
        super().__init__("; ".join(f"{name}: {detail}" for name, detail in problems))


@one_at_a_time
def enlarge(
    data: bytes,
    *,
    x: int = 0,
    y: int = 0,
    w: int | None = None,
    h: int | None = None,
    scale: float = 1.0,
    rotate: float = 0.0,
    contrast: float = 0.0,
    local_contrast: float = 0.0,
    invert: bool = False,
    channel: str = "",
    sharpen: float = 0.0,
    kilobytes: int | None = None,
) -> bytes:
    """A PNG of the box `x, y, w, h` (source pixels), made readable; with `kilobytes` a JPEG within them.

    scale           0.1 to 16 times
    rotate          degrees anticlockwise, any; the box's surroundings fill the new corners
    contrast        per cent of darkest and of lightest pixels given up by the stretch, 0 (no stretch) to 40
    local_contrast  how much each neighbourhood may be stretched, 0 (off) to 10
    channel         "" (colour), grey, red, green or blue
    sharpen         0 (off) to 5

    Raises BadEnlargement naming every bad setting, or a PictureError for bad data.
    """
    image = open_picture(data)
    settings = {
        "scale": (scale, 0.1, 16),
        "rotate": (rotate, -360, 360),
        "contrast": (contrast, 0, 40),
        "local_contrast": (local_contrast, 0, 10),
        "sharpen": (sharpen, 0, 5),
    }
    problems = [
        (name, f"{value} is not between {low} and {high}")
        for name, (value, low, high) in settings.items()
        if not low <= value <= high  # also false for NaN
    ]
    if channel not in CHANNELS:
        problems.append(("channel", f"{channel!r} is not one of: nothing, {', '.join(CHANNELS[1:])}"))
    box = box_in(image, x, y, w, h, problems)
    if problems:
        raise BadEnlargement(problems)

    image = _turned_box(_one_channel(image, channel), box, rotate, scale, local_contrast)
    if sharpen:
        image = _sharpened(image, sharpen, scale)
    if contrast:
        image = ImageOps.autocontrast(image, cutoff=contrast, preserve_tone=True)
    if invert:
        image = ImageOps.invert(image)
    if kilobytes is not None:
        return within(image, kilobytes)
    png = io.BytesIO()
    image.save(png, "PNG", compress_level=3)
    return png.getvalue()


def box_in(
    image: Image.Image, x: int, y: int, w: int | None, h: int | None, problems: list[tuple[str, str]]
) -> tuple[int, int, int, int]:
    """left, top, width, height, clipped to the picture; what is wrong goes to `problems`."""
    for name, start, length, side in (("x", x, w, image.width), ("y", y, h, image.height)):
        if not 0 <= start < side:
            problems.append(
                (name, f"{start} is outside the picture, which is {image.width} x {image.height}")
            )
        if length is not None and length < 1:
            problems.append(("w" if name == "x" else "h", f"{length} is less than one pixel"))
    width = image.width - x if w is None else min(w, image.width - x)
    height = image.height - y if h is None else min(h, image.height - y)
    return x, y, width, height


def _one_channel(image: Image.Image, channel: str) -> Image.Image:
    if channel == "grey":
        return image.convert("L")
    return image.getchannel(channel[0].upper()) if channel else image


def _turned_box(
    image: Image.Image, box: tuple[int, int, int, int], rotate: float, scale: float, local_contrast: float
) -> Image.Image:
    """The box, turned about its centre into the rectangle that holds all of it, and scaled."""
    x, y, w, h = (float(length) for length in box)
    angle = math.radians(rotate)
    width, height = _span(w, h, angle)
    out = (max(1, round(width * scale)), max(1, round(height * scale)))
    if out[0] * out[1] > MAX_ENLARGED_PIXELS:
        raise BadEnlargement(
            [("scale", f"gives {out[0]} x {out[1]} pixels: at most {MAX_ENLARGED_PIXELS // 10**6} million")]
        )
    if scale < 1:  # the rest then costs by the pixels asked for, not by those of the whole picture
        small = (max(1, round(image.width * scale)), max(1, round(image.height * scale)))
        image = image.resize(small, Image.Resampling.LANCZOS, reducing_gap=2)
        x, y, w, h, width, height = (length * scale for length in (x, y, w, h, width, height))
        scale = 1
    # What the turned rectangle sees of the source, so that its corners show the surroundings and not a blank.
    seen_w, seen_h = (math.ceil(side) + 2 for side in _span(width, height, angle))
    left, top = round(x + w / 2 - seen_w / 2), round(y + h / 2 - seen_h / 2)
    if local_contrast:  # before scaling: it also spreads few grey levels over all 256
        # A person scales until the marking is some 60 px high on the screen: that is the neighbourhood.
        reach = min(100, max(8, round(60 / scale)))
        around = (
            max(0, left - reach),
            max(0, top - reach),
            min(image.width, left + seen_w + reach),
            min(image.height, top + seen_h + reach),
        )
        image = _equalised_locally(image.crop(around), local_contrast, reach=reach)
        seen = _region(image, left - around[0], top - around[1], seen_w, seen_h)
    else:
        seen = _region(image, left, top, seen_w, seen_h)
    # Scaled first and turned after, so that turning blurs by a fraction of an enlarged pixel only.
    big = seen.resize(
        (max(1, round(seen_w * scale)), max(1, round(seen_h * scale))), Image.Resampling.LANCZOS
    )
    centre_x, centre_y = (x + w / 2 - left) * scale, (y + h / 2 - top) * scale
    cos, sin = math.cos(angle), math.sin(angle)
    turn = (
        cos, -sin, centre_x - cos * out[0] / 2 + sin * out[1] / 2,
        sin, cos, centre_y - sin * out[0] / 2 - cos * out[1] / 2,
    )  # fmt: skip
    return big.transform(out, Image.Transform.AFFINE, turn, Image.Resampling.BICUBIC)


def _span(w: float, h: float, angle: float) -> tuple[float, float]:
    """Width and height of the upright rectangle around a turned one."""
    cos, sin = abs(math.cos(angle)), abs(math.sin(angle))
    return w * cos + h * sin, w * sin + h * cos


def _region(image: Image.Image, left: int, top: int, w: int, h: int) -> Image.Image:
    """A crop that may reach past the picture; what lies outside takes the crop's mean colour."""
    inside = image.crop((max(0, left), max(0, top), min(image.width, left + w), min(image.height, top + h)))
    if inside.size == (w, h):
        return inside
    mean = inside.resize((1, 1), Image.Resampling.BOX).getpixel((0, 0))
    region = Image.new(image.mode, (w, h), mean)
    region.paste(inside, (max(0, -left), max(0, -top)))
    return region


def _equalised_locally(image: Image.Image, strength: float, *, reach: int) -> Image.Image:
    """Contrast brought out in each neighbourhood of `reach` px by itself, colours kept.

    The slow background is taken off and the rest spread over all levels; then each tile's histogram
    is equalised, clipped so that an empty tile does not turn into noise (contrast-limited adaptive
    equalisation, S. M. Pizer et al. 1987).
    """
    if image.mode == "RGB":
        light, blue, red = image.convert("YCbCr").split()
        light = _equalised_locally(light, strength, reach=reach)
        return Image.merge("YCbCr", (light, blue, red)).convert("RGB")
    background = image.filter(ImageFilter.GaussianBlur(reach))
    spread = ImageStat.Stat(ImageChops.subtract(image, background, 1, 128)).stddev[0]
    # Three deviations either side fill the range; a gain above 16 would show nothing but rounding.
    flat = ImageChops.subtract(image, background, max(spread * 6 / 255, 1 / 16), 128)
    return _equalised_by_tiles(flat, 1 + strength, side=max(24, 2 * reach))


def _equalised_by_tiles(image: Image.Image, limit: float, *, side: int) -> Image.Image:
    w, h = image.size
    across, down = max(1, round(w / side)), max(1, round(h / side))
    tables = {
        (i, j): _clipped_equalisation(
            image.crop((i * w // across, j * h // down, (i + 1) * w // across, (j + 1) * h // down)), limit
        )
        for i in range(across)
        for j in range(down)
    }
    # Between four tile centres the four tables are blended, so that no tile edge shows.
    xs = [0, *((2 * i + 1) * w // (2 * across) for i in range(across)), w]
    ys = [0, *((2 * j + 1) * h // (2 * down) for j in range(down)), h]
    out = image.copy()
    for i in range(across + 1):
        for j in range(down + 1):
            patch = image.crop((xs[i], ys[j], xs[i + 1], ys[j + 1]))
            if not (patch.width and patch.height):
                continue
            left, right, upper, lower = max(i - 1, 0), min(i, across - 1), max(j - 1, 0), min(j, down - 1)
            downward = Image.linear_gradient("L").resize(patch.size)
            rightward = Image.linear_gradient("L").transpose(Image.Transpose.ROTATE_90).resize(patch.size)
            over, under = (
                Image.composite(patch.point(tables[right, row]), patch.point(tables[left, row]), rightward)
                for row in (upper, lower)
            )
            out.paste(Image.composite(under, over, downward), (xs[i], ys[j]))
    return out


def _clipped_equalisation(tile: Image.Image, limit: float) -> list[int]:
    """Grey level -> grey level; no level is stretched more than `limit` times."""
    histogram = tile.histogram()
    total = sum(histogram)
    cap = limit * total / 256
    spare = sum(max(0.0, count - cap) for count in histogram) / 256
    table, below = [], 0.0
    for count in histogram:
        below += min(count, cap) + spare
        table.append(min(255, int(below * 255 / total)))
    return table


def _sharpened(image: Image.Image, strength: float, scale: float) -> Image.Image:
    """Print of the size of a few source pixels brought out; grain finer than one of them smoothed first."""
    smooth = image.filter(ImageFilter.GaussianBlur(0.7 * scale)) if scale > 1 else image
    return smooth.filter(ImageFilter.UnsharpMask(1.5 * max(scale, 1), round(150 * strength), 0))
