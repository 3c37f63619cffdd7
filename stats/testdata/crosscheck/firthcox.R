# Firth's penalised partial likelihood with R's survival package, which gives the
# log partial likelihood and the information at any coefficients: maximised by a
# general search and then by Newton's method with differences, on the cases given
# as JSON on standard input; JSON on standard output.
#
#   Rscript firthcox.R < firthcox_input.json > firthcox_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages({
  library(survival)
  library(jsonlite)
})
options(warn = -1)

answer <- function(case) {
  n <- length(case$exit)
  x <- as.matrix(case$x)
  storage.mode(x) <- "double"
  p <- ncol(x)
  if (sum(case$status) == 0) return(list(failed = TRUE))
  y <- if (is.null(case$entry)) Surv(case$exit, case$status) else Surv(case$entry, case$exit, case$status)
  strata <- if (is.null(case$stratum)) NULL else case$stratum
  offset <- if (is.null(case$offset)) rep(0, n) else case$offset
  fitter <- if (is.null(case$entry)) coxph.fit else agreg.fit
  control <- coxph.control(iter.max = 0)
  penalised <- function(b) {
    f <- tryCatch(fitter(x, y, strata, offset, init = b, control = control, weights = rep(1, n), method = "breslow",
                         rownames = as.character(seq_len(n))), error = function(e) NULL)
    if (is.null(f)) return(-1e10)
    v <- determinant(f$var)
    if (v$sign <= 0 || !is.finite(v$modulus) || any(diag(f$var) <= 0)) return(-1e10)
    f$loglik[length(f$loglik)] - as.vector(v$modulus) / 2
  }
  if (penalised(rep(0, p)) < -1e9) return(list(failed = TRUE))
  best <- NULL
  for (start in c(0, -1.5, 1.5)) {
    o <- if (p == 1) optim(start, penalised, method = "BFGS", control = list(fnscale = -1, reltol = 1e-12))
         else optim(rep(start, p), penalised, control = list(fnscale = -1, reltol = 1e-12, maxit = 2000))
    if (is.null(best) || o$value > best$value) best <- o
  }
  b <- best$par
  h <- 1e-3
  e <- function(j) replace(rep(0, p), j, h)
  gradient <- function(b) sapply(seq_len(p), function(j)
    (8 * (penalised(b + e(j)) - penalised(b - e(j))) - (penalised(b + 2 * e(j)) - penalised(b - 2 * e(j)))) / (12 * h))
  for (k in 1:6) {
    g <- gradient(b)
    H <- sapply(seq_len(p), function(j) (gradient(b + e(j)) - gradient(b - e(j))) / (2 * h))
    step <- tryCatch(solve(matrix(H, p), g), error = function(e) rep(0, p))
    if (penalised(b - step) < penalised(b) - 1e-9) break
    b <- b - step
  }
  list(failed = FALSE, coefficients = b, loglik = penalised(b), null = penalised(rep(0, p)), slope = max(abs(gradient(b))))
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE)
cat(toJSON(list(version = paste(R.version.string, "survival", packageVersion("survival")),
                cases = lapply(cases, answer)),
           auto_unbox = FALSE, digits = I(15), na = "string"), "\n")
