"""SHA-256 of each template, style and font of this version. Made by ``tools/template_digests.py``."""

from __future__ import annotations

from typing import Final

SHA256: Final = {
    "certificate.css": "44a594e64ed91ee7de6ae47a849b620e997b9711aae4c300ccebba18e0bb69d4",
    "certificate.html.jinja": "6b7f07c195d19a2db4ad033e2cdc3d219d53f30ee37ce9e5f5d2b11814b57f89",
    "certificate_body.html.jinja": "7127edb91df65667da4496646afeb99aafb6d453f0a8616c51eb04c01032c9b8",
    "chapters.jinja": "6098cf986db6479a595f8e945cc1361f070ba01953d4c7be21684a5daecdf99b",
    "check_charts.html.jinja": "2d4eb8d64c8ef8cdd5335342cb88f552c17189ee180781e36a1a0f5e80ab3f49",
    "copy_mark.html.jinja": "7b891a329dca0785b08b681c62cb6952327a39241be178c3d720eaa88d825730",
    "figures.svg.jinja": "dc4f80d4dea80819475ed5957a9327080916295f5ce7524da03e9ea93c92eb17",
    "fonts/OFL-SourceCodePro.txt": "cb30d3086a8b3ce0b9e3690bf48d6620402b61160bc658076f95180ccd9e9dae",
    "fonts/OFL.txt": "09746787287a289323b0ec3cff4d1a4a801331b82b7207c1e186f5d26619a392",
    "fonts/SOURCE.md": "0dcf91d96edfc50fc949b48ac45e62d1bdecac57aa7fdb4032350a8f24d47409",
    "fonts/SourceCodePro-Regular.ttf": "1bd0bb61d974f62f9cc208a162fd3a7a13f95ba0b56b88b870730bf3ae1ba358",
    "fonts/SourceSans3-Regular.ttf": "393fb5b878ceed04aebc34b097e853ae5138c51d0c34b496ce8e2b47e0d0b94a",
    "fonts/SourceSans3-SemiBold.ttf": "bd2550fce2d295b0bf20bd8b1b7f1477da834f1066bd850aafdb4787a67a63ca",
    "instruction.css": "cccf03552998e1d54a9d1cb6abcf384a51d582459d27d7d680863bcadfec8284",
    "instruction.html.jinja": "0a8bb336d950c352caf60237c51b99cd9de7ee8beea6b1a0866dfe68b78fb05f",
    "labels.css": "3e098121f513c96a9bc17b114448747fd561a1b2f73300d2e3d1149146fb1e4f",
    "labels.html.jinja": "07c03fbf6ec88b0b6e263a9ce2ce3a6417800415826d79b3018852235fa6dc3c",
    "plan.html.jinja": "70ceb3c2d4e07ac6c323dbce1300a589eacce0b5f7aa34add63d07f2be38030f",
    "preliminary.html.jinja": "80c65282b38a2f391b970bb8d16ea51144c6c5666a1522e4be9cbc9e98b87db9",
    "record.css": "d36cc4cccc74b2b25e23dc9f08166b448c7da3ed8f068aa4f1cb530139667c8a",
    "record.html.jinja": "93a8ec90b6b0dc31e2751cc689d3de8fc9894dae5feb6dab82739bae69a1bd16",
    "run_report.css": "b7a54abc3bfe0e9cfc3469d36b47f29ca1eac73b15f6793d542e3616946a0471",
    "run_report.html.jinja": "2be5e7059d2541f14c6c5f2e7568fd53125a0cda4d56882803836bb09a06955a",
    "withdrawal.html.jinja": "a04dd8a11c0700443e6d894ff5b5d09d341718ddca467eca427e26de581f58a0",
}
