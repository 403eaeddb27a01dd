"""The solver behind the estimate, against other programs and published fits."""

import numpy as np
import pytest

from drillbox.memory.logistic import Counts, Floats, _width, find_mode, learn_widths

# Answers of 1000 people to the five items of LSAT section 6: how often each pattern of wrong
# (0) and right (1) occurred, patterns in binary order (Bock & Lieberman 1970).
LSAT_6 = [3, 6, 2, 11, 1, 1, 3, 4, 1, 8, 0, 16, 0, 3, 2, 15,
          10, 29, 14, 81, 3, 28, 15, 80, 16, 56, 21, 173, 11, 61, 28, 298]  # fmt: skip
ANSWERS = np.array([[int(answer) for answer in f"{pattern:05b}"] for pattern in range(32)])


def two_way() -> tuple[Counts, Floats]:
    """Return counts of four groups by five columns at two tempos, and their whole design."""
    rows = [(g, k, t) for g in range(4) for k in range(5) for t in (0.6, 0.9)]
    group = np.array([g for g, _, _ in rows])
    column = np.eye(5)[[k for _, k, _ in rows]][:, 1:]
    slope = np.log([t for _, _, t in rows])
    total = [6 + (3 * g + 5 * k) % 7 for g, k, _ in rows]
    recalled = [
        (2 * g * g + 3 * k + (4 if t < 0.7 else 1) + g * k) % (n + 1)
        for (g, k, t), n in zip(rows, total, strict=True)
    ]
    design = np.column_stack([column, slope])
    counts = Counts(group, design, np.array(recalled, float), np.array(total, float))
    return counts, np.column_stack([np.eye(4)[group], design])


def test_free_effects_are_plain_logistic_regression() -> None:
    """Without priors, coefficients and standard errors are those of statsmodels 0.15.

    Computed with GLM(family=Binomial()).fit(tol=1e-14) on the same 40 rows.
    """
    counts, _ = two_way()
    mode = find_mode(counts, 0.0, np.zeros(5))
    expected = [-0.493773526, -0.007242288, 0.467009398, 0.040077856, -0.257538511,
                -0.153016575, -0.073214731, -0.642356247, -0.691337237]  # fmt: skip
    errors = [0.363384244, 0.346155744, 0.338515996, 0.354081631, 0.350214618,
              0.335740274, 0.354965578, 0.3436237, 0.53405589]  # fmt: skip
    assert [*mode.groups, *mode.columns] == pytest.approx(expected, abs=1e-8)
    found = np.sqrt([*mode.group_variance(), *np.diag(mode.covariance)])
    assert found == pytest.approx(errors, abs=1e-8)


def test_blocks_agree_with_the_whole() -> None:
    """Solved by blocks, the mode has no slope left and its variances are the full inverse's."""
    counts, whole = two_way()
    precision = np.array([4.0, 4.0, 4.0, 4.0, 0.16])
    mode = find_mode(counts, 2.0, precision)
    effects = np.concatenate([mode.groups, mode.columns])
    priors = np.concatenate([np.full(4, 2.0), precision])
    chance = 1 / (1 + np.exp(-whole @ effects))
    slope = whole.T @ (counts.recalled - counts.total * chance) - priors * effects
    assert np.abs(slope).max() < 1e-8
    curvature = (whole.T * (counts.total * chance * (1 - chance))) @ whole + np.diag(priors)
    inverse = np.linalg.inv(curvature)
    assert mode.group_variance() == pytest.approx(np.diag(inverse)[:4], abs=1e-10)
    less_mean = np.eye(4) - 0.25
    groups, columns = inverse[:4, :4], inverse[4:8, 4:8]
    assert mode.group_contrast_variance() == pytest.approx(
        np.diag(less_mean @ groups @ less_mean), abs=1e-10
    )
    assert mode.column_contrast_variance(slice(0, 4)) == pytest.approx(
        np.diag(less_mean @ columns @ less_mean), abs=1e-10
    )


def test_rasch_model_of_lsat_6() -> None:
    """Used as the M step of a marginal fit, the solver finds the published Rasch model.

    Difficulties, discrimination and log-likelihood as printed in Rizopoulos 2006 (Journal of
    Statistical Software 17:5). The E step stands here: abilities are integrated over 61 nodes.
    """
    nodes, weights = np.polynomial.hermite_e.hermegauss(61)
    weights = weights / weights.sum()
    design = np.vstack(
        [np.column_stack([np.tile(row, (len(nodes), 1)), nodes]) for row in np.eye(5)]
    )
    fit, log_likelihood = np.array([1.0, 1, 1, 1, 1, 0.5]), 0.0
    for _ in range(40):
        right = 1 / (1 + np.exp(-(fit[5] * nodes[:, None] + fit[:5])))
        by_pattern = np.where(ANSWERS[:, None, :] == 1, right, 1 - right).prod(axis=2) * weights
        log_likelihood = np.array(LSAT_6) @ np.log(by_pattern.sum(axis=1))
        expected = by_pattern * (np.array(LSAT_6) / by_pattern.sum(axis=1))[:, None]
        recalled = (expected.T @ ANSWERS).T.ravel()
        one_group = np.zeros(len(design), dtype=int)
        counts = Counts(one_group, design, recalled, np.tile(expected.sum(axis=0), 5))
        fit = find_mode(counts, 1e12, np.zeros(6)).columns
    assert fit[5] == pytest.approx(0.755, abs=5e-4)
    assert -fit[:5] / fit[5] == pytest.approx([-3.615, -1.322, -0.318, -1.730, -2.780], abs=6e-4)
    assert log_likelihood == pytest.approx(-2466.938, abs=5e-4)


def test_joint_mode_of_lsat_6_leans_to_the_mean() -> None:
    """With every person an effect of width 1, item difficulties come near the marginal fit.

    Published for slope 1: Rizopoulos 2006. A joint mode is known to lean to 0 where each
    effect rests on five answers (Breslow & Clayton 1993): here by a tenth, none out of order.
    """
    people = np.repeat(ANSWERS, LSAT_6, axis=0)
    group = np.repeat(np.arange(1000), 5)
    design = np.tile(np.eye(5), (1000, 1))
    counts = Counts(group, design, people.ravel().astype(float), np.ones(5000))
    difficulties = -find_mode(counts, 1.0, np.zeros(5)).columns
    published = np.array([-2.8720, -1.0630, -0.2576, -1.3881, -2.2188])
    assert people.sum(axis=0).tolist() == [924, 709, 553, 763, 870]
    assert list(np.argsort(difficulties)) == list(np.argsort(published))
    assert np.all((difficulties / published > 0.85) & (difficulties / published < 1.0))


def test_open_effect_is_refused() -> None:
    """Where nothing tells of a free effect, none is made up."""
    counts, _ = two_way()
    idle = np.column_stack([counts.design, np.zeros(40)])
    with pytest.raises(np.linalg.LinAlgError):
        find_mode(Counts(counts.group, idle, counts.recalled, counts.total), 0.0, np.zeros(6))


def test_far_start_still_arrives() -> None:
    """Newton's steps are halved where they would overshoot: any start leads to the same mode."""
    counts, _ = two_way()
    precision = np.full(5, 0.16)
    near = find_mode(counts, 1.0, precision)
    far = find_mode(counts, 1.0, precision, (np.full(4, 9.0), np.full(5, -9.0)))
    assert far.groups == pytest.approx(near.groups, abs=1e-8)
    assert far.columns == pytest.approx(near.columns, abs=1e-8)


def test_widths_follow_the_data() -> None:
    """Groups that differ much get a wide prior, groups that don't a narrow one."""
    design = np.ones((40, 1))
    total = np.full(40, 50.0)
    unlike = np.tile([10.0, 40.0], 20)
    alike = np.tile([25.0, 26.0], 20)
    none = slice(1, 1)
    wide = learn_widths(Counts(np.arange(40), design, unlike, total), none, 2.5, 1.5)[1]
    narrow = learn_widths(Counts(np.arange(40), design, alike, total), none, 2.5, 1.5)[1]
    # Shares of .2 and .8 lie 1.386 from the mean in log-odds: that is their spread.
    assert wide == pytest.approx(1.386, abs=0.1)
    assert narrow < 0.2


@pytest.mark.parametrize("count", [2, 5, 40])
def test_a_width_is_the_most_probable_one(count: int) -> None:
    """Under the density of its docstring, written out here, no width near by is more probable."""
    effects = np.linspace(-0.7, 1.1, count)
    variances = np.linspace(0.02, 0.3, count)
    found, mode = _width(effects, variances, 0.4), 0.4
    total = float((effects**2 + variances).sum())

    def log_density(width: float) -> float:
        log = -(count - 1) * np.log(width)
        return float(log - total / (2 * width**2) - width**2 / (2 * mode**2))

    assert log_density(found) > max(log_density(0.99 * found), log_density(1.01 * found))
