# Parametric models of time by R's survival package, on the cases given as JSON
# on standard input; JSON on standard output. Ends below 0 are none.
#
#   Rscript parametric.R < parametric_input.json > parametric_output.json
#
# makes the stored output that is compared without R.
suppressPackageStartupMessages({
  library(survival)
  library(jsonlite)
})

one <- function(case) {
  left <- ifelse(case$left <= 0, NA, case$left)
  right <- ifelse(case$right < 0, NA, case$right)
  x <- matrix(case$x, nrow = length(left), byrow = TRUE)
  w <- case$weight
  id <- case$cluster
  dist <- c("Weibull" = "weibull", "exponential" = "exponential",
    "log-normal" = "lognormal", "log-logistic" = "loglogistic")[[case$distribution]]
  warned <- FALSE
  quiet <- function(fit) withCallingHandlers(tryCatch(fit, error = function(e) NULL),
    warning = function(e) { warned <<- TRUE; invokeRestart("muffleWarning") })
  control <- survreg.control(maxiter = 500, rel.tolerance = 1e-14, toler.chol = 1e-13)
  y <- Surv(left, right, type = "interval2")
  f <- quiet(survreg(y ~ x, dist = dist, weights = w, y = TRUE, control = control))
  if (is.null(f)) return(list(warned = TRUE))
  if (warned) return(list(warned = TRUE))
  # survreg's own robust covariance leaves the weights out of the influences, and
  # the derivative by log(scale) of survival 3.5 has the wrong sign for an event
  # between two ends, as a difference quotient of the log likelihood shows.
  d <- residuals(f, "matrix")
  ds <- ifelse(f$y[, 3] == 3, -1, 1) * d[, "ds"]
  score <- cbind(d[, "dg"] * cbind(1, x), if (dist != "exponential") ds)
  robust <- crossprod(rowsum(w * score %*% f$var, id))
  at <- lapply(c("quantile", "uquantile"), function(type)
    lapply(predict(f, type = type, p = c(0.1, 0.5, 0.9), se.fit = TRUE), function(v) matrix(v, nrow = length(left))[1, ]))
  list(warned = FALSE, coefficients = unname(c(coef(f), if (dist != "exponential") log(f$scale))),
    model = unname(f$var), robust = unname(robust), loglik = f$loglik,
    quantile = at[[1]]$fit, spread = at[[2]]$se.fit,
    survival = 1 - psurvreg(case$at, mean = f$linear.predictors[1], scale = f$scale, distribution = dist))
}

cases <- fromJSON(file("stdin"), simplifyDataFrame = FALSE, simplifyMatrix = FALSE)
write(toJSON(list(version = c(R.version.string, paste("survival", packageVersion("survival"))),
  cases = lapply(cases, one)), digits = NA, auto_unbox = FALSE), stdout())
