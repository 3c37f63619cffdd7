package run

// references are the published sources of the methods, by key.
var references = map[string]string{
	"Hyndman 1996":      "Hyndman RJ, Fan Y. Sample quantiles in statistical packages. Am Stat 1996;50:361–365.",
	"Garwood 1936":      "Garwood F. Fiducial limits for the Poisson distribution. Biometrika 1936;28:437–442.",
	"Przyborowski 1940": "Przyborowski J, Wilenski H. Homogeneity of results in testing samples from Poisson series. Biometrika 1940;31:313–323.",
	"McCullagh 1989":    "McCullagh P, Nelder JA. Generalized Linear Models, 2nd ed. Chapman & Hall, 1989.",
	"Lawless 1987":      "Lawless JF. Negative binomial and mixed Poisson regression. Can J Stat 1987;15:209–225.",
	"Bell 2002":         "Bell RM, McCaffrey DF. Bias reduction in standard errors for linear regression with multi-stage samples. Surv Methodol 2002;28:169–181.",
	"Mancl 2001":        "Mancl LA, DeRouen TA. A covariance estimator for GEE with improved small-sample properties. Biometrics 2001;57:126–134.",
	"Dean 1992":         "Dean CB. Testing for overdispersion in Poisson and binomial regression models. J Am Stat Assoc 1992;87:451–457.",
	"Cameron 1990":      "Cameron AC, Trivedi PK. Regression-based tests for overdispersion in the Poisson model. J Econom 1990;46:347–364.",
	"Lane 1982":         "Lane PW, Nelder JA. Analysis of covariance and standardization as instances of prediction. Biometrics 1982;38:613–621.",
	"Durrleman 1989":    "Durrleman S, Simon R. Flexible regression models with cubic splines. Stat Med 1989;8:551–561.",
	"Stolwijk 1999":     "Stolwijk AM, Straatman H, Zielhuis GA. Studying seasonality by using sine and cosine functions in regression analysis. J Epidemiol Community Health 1999;53:235–238.",
	"Wilson 1927":       "Wilson EB. Probable inference, the law of succession, and statistical inference. J Am Stat Assoc 1927;22:209–212.",
	"Woolf 1955":        "Woolf B. On estimating the relation between blood group and disease. Ann Hum Genet 1955;19:251–253.",
	"Cornfield 1956":    "Cornfield J. A statistical problem arising from retrospective studies. Proc 3rd Berkeley Symp 1956;4:135–148.",
	"Katz 1978":         "Katz D, Baptista J, Azen SP, Pike MC. Obtaining confidence intervals for the risk ratio in cohort studies. Biometrics 1978;34:469–474.",
	"Newcombe 1998":     "Newcombe RG. Interval estimation for the difference between independent proportions: comparison of eleven methods. Stat Med 1998;17:873–890.",
	"Pearson 1900":      "Pearson K. On the criterion that a given system of deviations from the probable in the case of a correlated system of variables is such that it can be reasonably supposed to have arisen from random sampling. Philos Mag 1900;50:157–175.",
	"Freeman 1951":      "Freeman GH, Halton JH. Note on an exact treatment of contingency, goodness of fit and other problems of significance. Biometrika 1951;38:141–149.",
	"Hosmer 2000":       "Hosmer DW, Lemeshow S. Applied Logistic Regression, 2nd ed. Wiley, 2000.",
	"Liang 1986":        "Liang KY, Zeger SL. Longitudinal data analysis using generalized linear models. Biometrika 1986;73:13–22.",
	"Kaplan 1958":       "Kaplan EL, Meier P. Nonparametric estimation from incomplete observations. J Am Stat Assoc 1958;53:457–481.",
	"Kalbfleisch 1980":  "Kalbfleisch JD, Prentice RL. The Statistical Analysis of Failure Time Data. Wiley, 1980.",
	"Brookmeyer 1982":   "Brookmeyer R, Crowley J. A confidence interval for the median survival time. Biometrics 1982;38:29–41.",
	"Mantel 1966":       "Mantel N. Evaluation of survival data and two new rank order statistics arising in its consideration. Cancer Chemother Rep 1966;50:163–170.",
	"Cox 1972":          "Cox DR. Regression models and life-tables. J R Stat Soc B 1972;34:187–220.",
	"Efron 1977":        "Efron B. The efficiency of Cox's likelihood function for censored data. J Am Stat Assoc 1977;72:557–565.",
	"Breslow 1974":      "Breslow N. Covariance analysis of censored survival data. Biometrics 1974;30:89–99.",
	"Lin 1989":          "Lin DY, Wei LJ. The robust inference for the Cox proportional hazards model. J Am Stat Assoc 1989;84:1074–1078.",
	"Rothman 1998":      "Rothman KJ, Greenland S. Modern Epidemiology, 2nd ed. Lippincott-Raven, 1998.",
	"Breslow 1987":      "Breslow NE, Day NE. Statistical Methods in Cancer Research, vol. II. IARC Sci Publ 82, 1987.",
	"Berry 1995":        "Berry G, Armitage P. Mid-P confidence intervals: a brief review. Statistician 1995;44:417–423.",
	"Graham 2003":       "Graham PL, Mengersen K, Morton AP. Confidence limits for the ratio of two rates based on likelihood scores. Stat Med 2003;22:2071–2083.",
	"Miettinen 1985":    "Miettinen O, Nurminen M. Comparative analysis of two rates. Stat Med 1985;4:213–226.",
	"Koopman 1984":      "Koopman PAR. Confidence intervals for the ratio of two binomial proportions. Biometrics 1984;40:513–517.",
	"Fay 1997":          "Fay MP, Feuer EJ. Confidence intervals for directly standardized rates: a method based on the gamma distribution. Stat Med 1997;16:791–801.",
	"Tiwari 2006":       "Tiwari RC, Clegg LX, Zou Z. Efficient interval estimation for age-adjusted cancer rates. Stat Methods Med Res 2006;15:547–569.",
	"Greenland 1985":    "Greenland S, Robins JM. Estimation of a common effect parameter from sparse follow-up data. Biometrics 1985;41:55–68.",
	"Armitage 1955":     "Armitage P. Tests for linear trends in proportions and frequencies. Biometrics 1955;11:375–386.",
	"Clopper 1934":      "Clopper CJ, Pearson ES. The use of confidence or fiducial limits illustrated in the case of the binomial. Biometrika 1934;26:404–413.",
	"Brown 2001":        "Brown LD, Cai TT, DasGupta A. Interval estimation for a binomial proportion. Stat Sci 2001;16:101–133.",
	"Nelson 1988":       "Nelson W. Graphical analysis of system repair data. J Qual Technol 1988;20:24–35.",
	"Lawless 1995":      "Lawless JF, Nadeau C. Some simple robust methods for the analysis of recurrent events. Technometrics 1995;37:158–168.",
	"Ghosh 2000":        "Ghosh D, Lin DY. Nonparametric analysis of recurrent events and death. Biometrics 2000;56:554–562.",
	"Lin 2000":          "Lin DY, Wei LJ, Yang I, Ying Z. Semiparametric regression for the mean and rate functions of recurrent events. J R Stat Soc B 2000;62:711–730.",
	"Bahr 2018":         "Bahr R, Clarsen B, Ekstrand J. Why we should focus on the burden of injuries and illnesses, not just their incidence. Br J Sports Med 2018;52:1018–1021.",
	"Bahr 2020":         "Bahr R, Clarsen B, Derman W, et al. International Olympic Committee consensus statement: methods for recording and reporting of epidemiological data on injury and illness in sport 2020. Br J Sports Med 2020;54:372–389.",
	"Fuller 2006":       "Fuller CW, Ekstrand J, Junge A, et al. Consensus statement on injury definitions and data collection procedures in studies of football (soccer) injuries. Br J Sports Med 2006;40:193–201.",
	"Efron 1993":        "Efron B, Tibshirani RJ. An Introduction to the Bootstrap. Chapman & Hall, 1993.",
	"Klein 2003":        "Klein JP, Moeschberger ML. Survival Analysis, 2nd ed. Springer, 2003.",
}

// reference is the source with the given key, which must be known.
func reference(key string) string {
	text, ok := references[key]
	if !ok {
		panic("run: no reference " + key)
	}
	return text
}
