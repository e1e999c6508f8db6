"""All that is heard of a channel without knowing who plays: levels, floors, mains, hiss and other steady tones.

The analysers share what is dear: one pass over the samples, one lower rate, one set of quiet spectra.
"""

from __future__ import annotations

from showday.sound.clipping import FULL_SCALE
from showday.sound.hiss import Hiss
from showday.sound.levels import ChannelLevels, Levels
from showday.sound.mains import Mains
from showday.sound.model import Block, Finding, Meter
from showday.sound.tones import Tones
from showday.sound.windows import Window, Windows

MAINS_KINDS = ("hum", "buzz", "ripple")


class Background:
    """Feed blocks; ask for meters, levels and findings whenever.

    The blocks are cleaned (`windows.cleaned`), once for all who listen to them.
    """

    def __init__(self, rate: int, channels: int, full_scale: float = FULL_SCALE) -> None:
        self._levels = Levels(rate, channels, full_scale)
        self._windows = Windows(rate, channels)
        self.rate = self._windows.rate
        """Hz of the looks."""
        self._mains = Mains(rate, channels)
        self._tones = Tones(rate, channels)
        self._hiss = Hiss(rate, channels)

    def feed(self, block: Block) -> list[Window]:
        """Take the next block; the looks at the band below 5 kHz that it completes are for whoever wants them, too."""
        for spectrum in self._levels.take(block):
            self._hiss.take(spectrum)
        looks = self._windows.feed(block)
        for look in looks:
            self._mains.take(look)
            self._tones.take(look)
        return looks

    def meters(self) -> list[Meter]:
        """Each channel as it is now."""
        return self._levels.meters()

    def overall(self) -> list[ChannelLevels]:
        """Each channel over all that was fed."""
        return self._levels.overall()

    def findings(self) -> list[Finding]:
        """What has been heard so far, by channel."""
        mains = self._mains.findings()
        hums = {finding.channel for finding in mains if finding.kind in MAINS_KINDS}
        found = mains + self._hiss.findings(hums) + self._tones.findings()
        return sorted(found, key=lambda finding: (finding.channel, finding.kind))

    def doubts(self) -> list[Finding]:
        """What was heard too seldom to be a finding, and would keep a line from being called clean."""
        return self._mains.doubts()

    @property
    def mains_hz(self) -> float | None:
        """The mains frequency of this place, or None if no channel shows it."""
        return self._mains.mains_hz
