// Package diagnose explains what is wrong with a consumer: from observations that fail their checks to named causes
// with fitted numbers, their evidence, and what to change.
//
// Read hypotheses.go first: the table of what programs get wrong, one row each. pipeline.go has the correct consumer as
// a pipeline whose stages a hypothesis replaces. Then, in the order in which data passes them: sample.go (which
// observations are kept), cost.go (how well a pipeline explains them), fit.go (continuous parameters by weighted least
// squares), search.go (which hypotheses, alone and together, explain most with the least freedom), finding.go (the
// text), counted.go (causes that are counted and not fitted), impact.go (what it does to a sounding).
//
// To add a hypothesis: a row in the table of its stage (hypotheses_*.go), and in the test the mistake that it explains.
//
// # How a cause is found
//
// A pipeline predicts, for each observation that was kept, what a consumer with certain mistakes would have said at
// that stamp. The device is random access, so that nothing is interpolated. The residual in standard deviations enters
// a Student t distribution with four degrees of freedom: near zero it weighs as least squares do, far away it grows
// with the logarithm only. So a few outliers do not decide, and a hypothesis that explains the larger of two mistakes
// gains much though the smaller one remains. Hypotheses are compared by the Bayesian information criterion: minus twice
// the log-likelihood, and ln n for each free parameter (Schwarz, Annals of Statistics 6 (1978) 461). The best few are
// tried together with each other and refined jointly.
//
// A finding needs evidence: it must bring values that are beyond their tolerance back within it. What predicts the
// same as the finding here is named with it, and a scenario that tells them apart.
package diagnose
