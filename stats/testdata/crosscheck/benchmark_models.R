# Times logistic regression in base R, for the benchmark: data are made by the
# formulas that the benchmark uses. Argument: rows. Prints seconds and the first
# coefficient.
n <- as.integer(commandArgs(trailingOnly = TRUE)[1])
i <- seq_len(n)
frac <- function(x) x - floor(x)
x <- cbind(1, sapply(1:10, function(j) frac(i * sqrt(4 * j + 2)) - 0.5))
y <- as.numeric(frac(i * 0.7548776662466927) < plogis(-1 + x[, -1] %*% rep(0.5, 10)))
seconds <- system.time(f <- glm.fit(x, y, family = binomial()))[["elapsed"]]
cat(seconds, format(f$coefficients[2], digits = 12), "\n")
