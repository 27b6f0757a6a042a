// Tail probabilities and quantiles that a survey's statements rest on. Pure; no value here reaches a part.
// Accuracy 1e-10 relative for 1 to 1e7 degrees of freedom (tests: printed tables, scipy).
// Source: continued fractions of the incomplete beta and gamma functions, NIST Handbook of Mathematical Functions
// sections 8.9 and 8.17.
#pragma once

namespace bedwright {

/// P(F > f) for f >= 0 with a and b degrees of freedom.
double f_upper_tail(double f, double a, double b);
/// P(chi2 > c) for c >= 0 with k degrees of freedom.
double chi_squared_upper_tail(double c, double k);
/// P(|t| > t) for Student's t with k degrees of freedom.
double student_two_tails(double t, double k);
/// t with P(|T| > t) = tails, 0 < tails < 1; k > 1e7 is taken as the normal distribution.
double student_quantile(double tails, double k);
/// z with P(|Z| > z) = tails for a normal Z.
double normal_quantile(double tails);
/// P(|Z| > z).
double normal_two_tails(double z);

}  // namespace bedwright
