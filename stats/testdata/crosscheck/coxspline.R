# Natural cubic splines in Cox models with R's survival and splines packages, on the
# cases given as JSON on standard input; JSON on standard output. R's basis is
# another than ours: what is compared does not depend on it. A natural spline is
# straight where its values at the knots are, so that the test of curvature is that
# of their second divided differences being 0.
#
#   Rscript coxspline.R < coxspline_input.json > coxspline_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages({
  library(survival)
  library(splines)
  library(jsonlite)
})
options(warn = -1)

answer <- function(case) {
  k <- case$knots
  basis <- function(x) ns(x, knots = k[-c(1, length(k))], Boundary.knots = range(k))
  d <- data.frame(exit = case$exit, status = case$status, group = case$group, id = case$cluster)
  b <- basis(case$x)
  control <- coxph.control(eps = 1e-11, iter.max = 60)
  f <- coxph(Surv(exit, status) ~ b + group, d, cluster = id, control = control)
  spline <- seq_len(ncol(b))
  estimate <- coef(f)[spline]
  v <- f$var[spline, spline]
  wald <- function(l) {
    e <- l %*% estimate
    drop(t(e) %*% solve(l %*% v %*% t(l), e))
  }
  to <- unclass(basis(case$at)) - unclass(basis(rep(case$reference, length(case$at))))
  at.knots <- unclass(basis(k))
  curved <- t(sapply(seq_len(length(k) - 2), function(i) {
    h <- diff(k[i:(i + 2)])
    (at.knots[i + 2, ] - at.knots[i + 1, ]) / h[2] - (at.knots[i + 1, ] - at.knots[i, ]) / h[1]
  }))
  list(loglik = f$loglik[2], log = drop(to %*% estimate), se = sqrt(rowSums((to %*% v) * to)),
       term = wald(diag(length(spline))), curvature = wald(curved))
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE)
cat(toJSON(list(version = paste(R.version.string, "survival", packageVersion("survival")), cases = lapply(cases, answer)),
           auto_unbox = FALSE, digits = I(15), na = "string"), "\n")
