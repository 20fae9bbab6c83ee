package foam

// WaterDensity is the density of pure water at one atmosphere in g/cm³, for
// 0 to 40 °C. Formula: M. Tanaka et al., Metrologia 38 (2001) 301, the
// coefficients from memory; the tests hold it to the values of IAPWS-IF97.
func WaterDensity(c float64) float64 {
	const a1, a2, a3, a4, a5 = -3.983035, 301.797, 522528.9, 69.34881, 999.974950
	return a5 * (1 - (c+a1)*(c+a1)*(c+a2)/(a3*(c+a4))) / 1000
}

// Gravity is the standard acceleration of free fall in m/s² (ISO 80000-3).
const Gravity = 9.80665
