"""The network: two views of the sound, twelve gated convolution blocks, CTC outputs.

Rule of this file: one forward serves training and listening. Every layer that
looks back in time takes what it has seen from a state and leaves what the next
call needs; a fresh state is zeros. Nothing looks forward: a block that needs
frames of the future gives its output as many steps late.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import torch
from torch import Tensor, nn
from torch.nn import functional

from callout.ear import mel

STEP_ROWS = 4
"""Rows of features per step of the network (40 ms)."""
TRUNK_CHANNELS = (24, 24, 24, 48, 48, 48, 48, 72, 72, 72, 72, *[96] * 9)
"""Channels of the twenty convolutions of the pretrained speech embedding."""


@dataclass(frozen=True)
class Shape:
    """The sizes of a network."""

    width: int = 288
    blocks: int = 12
    kernel: int = 9
    blocks_that_look_ahead: int = 4
    outputs: int = 40
    dropout: float = 0.1

    @property
    def look_ahead(self) -> int:
        """Steps by which the outputs are late."""
        return self.blocks_that_look_ahead


class Memory:
    """What the layers remember between calls: read in order, written in the same order."""

    def __init__(self, state: Tensor | None) -> None:
        self._state = state
        self._place = 0
        self._next: list[Tensor] = []

    def extend(self, x: Tensor, steps: int, axis: int) -> Tensor:
        """x with the last `steps` frames of the call before in front, along `axis`."""
        shape = [int(length) for length in x.shape]
        shape[axis] = steps
        if self._state is None:
            old = x.new_zeros(shape)
        else:
            size = math.prod(shape[1:])
            old = self._state[:, self._place : self._place + size].reshape([-1, *shape[1:]])
            self._place += size
        whole = torch.cat([old, x], axis)
        last = (*[slice(None)] * axis, slice(-steps, None))
        self._next.append(whole[last].flatten(1))
        return whole

    def state(self) -> Tensor:
        """The state for the next call, [batch, size]."""
        return torch.cat(self._next, 1)


class Trunk(nn.Module):
    """The speech embedding's convolutions, started from its published weights.

    The embedding (96 numbers every 80 ms over 760 ms of sound, trained on the
    speech of very many people for keyword spotting) keeps its layers; the last
    halving of the frame rate is undone, so that every 40 ms step has a row.
    """

    def __init__(self) -> None:
        super().__init__()
        convs = []
        before = 1
        for place, after in enumerate(TRUNK_CHANNELS):
            kernel = (3, 3) if place == 0 else (1, 3) if place % 2 else (3, 1)
            if place == 19:
                kernel = (3, 1)
            across = (0, 1) if kernel[1] == 3 else (0, 0)
            gap = (2, 1) if place == 19 else (1, 1)
            convs.append(
                nn.Conv2d(before, after, kernel, padding=across, dilation=gap, bias=place < 19)
            )
            before = after
        self.convs = nn.ModuleList(convs)

    def forward(self, plain: Tensor, memory: Memory) -> list[Tensor]:
        """Plain log-mel [batch, rows, 32] to three views, each [batch, rows / 4, channels]."""
        x = plain[:, None]
        views = []
        for place in range(19):
            conv = self.convs[place]
            if conv.kernel_size[0] == 3:
                x = memory.extend(x, 2, 2)
            x = torch.clamp(functional.leaky_relu(conv(x), 0.2), min=-0.4)
            if place in (2, 10):
                x = functional.max_pool2d(x, (2, 2))
            elif place in (6, 14):
                x = functional.max_pool2d(x, (1, 2))
            if place in (14, 18):
                views.append(x.transpose(1, 2).flatten(2))
        x = functional.max_pool2d(memory.extend(x, 1, 2), (2, 2), stride=(1, 2))
        x = self.convs[19](memory.extend(x, 4, 2))
        return [*views, x.transpose(1, 2).flatten(2)]


class Stem(nn.Module):
    """Small convolutions over time and frequency on the bands less their running mean."""

    def __init__(self, width: int) -> None:
        super().__init__()
        self.first = nn.Conv2d(1, 20, (3, 5), stride=(1, 2), padding=(0, 2))
        self.second = nn.Conv2d(20, 32, (6, 3), stride=(STEP_ROWS, 2), padding=(0, 1))
        self.out = nn.Linear(32 * mel.BANDS // 4, width)

    def forward(self, bands: Tensor, memory: Memory) -> Tensor:
        """[batch, rows, 64] to [batch, rows / 4, width]."""
        x = functional.silu(self.first(memory.extend(bands[:, None], 2, 2)))
        x = functional.silu(self.second(memory.extend(x, 2, 2)))
        return self.out(x.transpose(1, 2).flatten(2))


class Block(nn.Module):
    """Depthwise convolution over time, gate, projection; added to what came in."""

    def __init__(self, shape: Shape, ahead: int) -> None:
        super().__init__()
        self.ahead, self.kernel, width = ahead, shape.kernel, shape.width
        self.norm = nn.LayerNorm(width)
        self.depthwise = nn.Conv1d(width, width, shape.kernel, groups=width)
        self.gate = nn.Linear(width, 2 * width)
        self.project = nn.Linear(width, width)
        self.dropout = nn.Dropout(shape.dropout)

    def forward(self, x: Tensor, memory: Memory) -> Tensor:
        """[batch, steps, width] to the same shape, `ahead` steps late."""
        whole = memory.extend(x, self.kernel - 1, 1)
        mixed = self.depthwise(self.norm(whole).transpose(1, 2)).transpose(1, 2)
        out = self.project(functional.glu(self.gate(functional.silu(mixed)), 2))
        late = whole[:, self.kernel - 1 - self.ahead : -self.ahead or None]
        return late + self.dropout(out)


class Ear(nn.Module):
    """Features in, log-probabilities of the blank and 39 phones out."""

    def __init__(self, shape: Shape | None = None) -> None:
        super().__init__()
        self.shape = shape or Shape()
        width = self.shape.width
        self.trunk = Trunk()
        self.view_norms = nn.ModuleList(nn.LayerNorm(n) for n in (192, 192, 96))
        self.views = nn.Linear(480, width)
        self.stem = Stem(width)
        gap = self.shape.blocks // max(1, self.shape.blocks_that_look_ahead)
        self.blocks = nn.ModuleList(
            Block(self.shape, int(place % gap == 0 and place // gap < self.shape.look_ahead))
            for place in range(self.shape.blocks)
        )
        self.norm = nn.LayerNorm(width)
        self.head = nn.Linear(width, self.shape.outputs)
        self.middle = nn.Linear(width, self.shape.outputs)

    def forward(self, rows: Tensor, state: Tensor | None = None) -> tuple[Tensor, Tensor, Tensor]:
        """Run on.

        Args:
            rows: [batch, 96, 4 n]
            state: [batch, S] from the call before; None at the start

        Returns:
            log-probabilities [batch, n, 40], the same from the middle of the
            network (for training), the next state [batch, S]
        """
        memory = Memory(state)
        rows = rows.transpose(1, 2)
        views = self.trunk(rows[:, :, mel.BANDS :], memory)
        seen = torch.cat([norm(v) for norm, v in zip(self.view_norms, views, strict=True)], 2)
        x = self.views(seen) + self.stem(rows[:, :, : mel.BANDS], memory)
        middle = x
        for place, block in enumerate(self.blocks):
            x = block(x, memory)
            if place == len(self.blocks) // 2:
                middle = self.middle(x)
        out = functional.log_softmax(self.head(self.norm(x)).float(), 2)
        return out, functional.log_softmax(middle.float(), 2), memory.state()


def load_trunk(ear: Ear, weights: dict[str, Tensor]) -> None:
    """Put the published weights of the speech embedding into the trunk."""
    for place, conv in enumerate(ear.trunk.convs):
        conv.weight.data.copy_(weights[f"{place}.weight"])
        if conv.bias is not None:
            conv.bias.data.copy_(weights[f"{place}.bias"])
