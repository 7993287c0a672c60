"""How the network of the fine key is trained: what it is shown, and that a few steps run."""

import sys
from pathlib import Path

import numpy as np
import pytest

FOLDER = Path(__file__).parent.parent / "examples" / "matte_network"


@pytest.fixture(autouse=True)
def beside(monkeypatch):
    monkeypatch.syspath_prepend(str(FOLDER))
    yield
    for name in ("mattes", "textures", "camera", "network", "train"):
        sys.modules.pop(name, None)


def test_mattes_are_of_all_kinds_and_the_same_again():
    import mattes

    drawn = [mattes.matte(seed) for seed in range(4)]
    assert all(matte.shape == (mattes.SIZE, mattes.SIZE) for matte in drawn)
    np.testing.assert_array_equal(mattes.matte(2), drawn[2])
    assert abs(sum(share for _, share in mattes.KINDS) - 1) < 1e-9


def test_a_strand_thinner_than_a_pixel_covers_its_share_of_it():
    import cv2
    import mattes

    def draw(canvas):
        cv2.line(canvas, (1202, 0), (1202, mattes.WHOLE), 255, 1)  # a quarter of a pixel wide

    drawn = mattes.covered(draw)
    np.testing.assert_allclose(drawn.sum(1), 0.25, atol=1e-3)


def test_a_few_steps_of_training_run():
    torch = pytest.importorskip("torch", reason="PyTorch is not installed: nothing to train with")
    from camera import Camera
    from network import PLANES, Network
    from train import loss_of

    torch.manual_seed(1)
    camera, network = Camera(torch.device("cpu"), 1, 64), Network()
    steps = torch.optim.AdamW(network.parameters(), lr=1e-3)
    texture, matte = torch.rand(2, 3, 64, 64), (torch.rand(2, 1, 64, 64) > 0.5).float()
    batch = camera.batch(texture, matte)
    assert batch.planes.shape == (2, PLANES, 64, 64)
    losses = []
    for _ in range(4):
        loss = loss_of(network(batch.planes), batch, camera)
        steps.zero_grad()
        loss.backward()
        steps.step()
        losses.append(float(loss.detach()))
    assert losses[-1] < losses[0]
