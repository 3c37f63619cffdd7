# Times a job of R's survival package, for the benchmarks: the rows come as
# JSON on standard input, the number of runs as argument; the seconds of all
# runs together go to standard output.
suppressPackageStartupMessages({
  library(survival)
  library(jsonlite)
})
d <- fromJSON(file("stdin"))
runs <- as.integer(commandArgs(trailingOnly = TRUE)[1])
s <- Surv(d$entry, d$exit, d$status)
job <- switch(d$job,
  curve = function() survfit(s ~ 1, conf.type = "log-log"),
  cox = function() coxph(s ~ d$x, ties = "efron")
)
invisible(job())
cat(system.time(for (i in seq_len(runs)) job())[["elapsed"]], "\n")
