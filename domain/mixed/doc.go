// Package mixed fits linear mixed models: y is the sum of fixed effects, of effects that are
// drawn anew for each level of one or two groupings, and of chance.
//
// A model is fitted by restricted maximum likelihood (REML) or by maximum likelihood (ML). Mean
// and residual variance are profiled out, so that the search is over the ratios of standard
// deviations alone, 0 included. The effect of a level is predicted with shrinkage: the fewer
// observations a level has, the nearer to nothing it is put. Where the ratio itself is hardly
// known, Model.Posterior weighs the predictions of all ratios.
//
// The package knows nothing of honey. It has no clock and no randomness.
package mixed
