package calculator

import (
	"pullbook/openapi"
)

// What the answers rest on. domain/honey and domain/heat set out ranges,
// disagreements between sources, and misses.
var (
	formulaIndexTable = openapi.FormulaUsed{
		Of: "moisture", Name: "honey refractive index table, linear between rows; 0.00023 of index a degree",
		Source: "AOAC 969.38B; International Honey Commission, harmonised methods",
	}
	formulaBeyondTable = openapi.FormulaUsed{
		Of: "moisture beyond the table", Name: "equation behind the table, from its last row on; 0.05 points less sure for each point", Source: "Wedmore 1955; the uncertainty is a judgement",
	}
	formulaSucrose = openapi.FormulaUsed{
		Of: "refractive index by degrees Brix", Name: "sucrose scale, cubic through 70, 75, 80 and 85 Brix", Source: "ICUMSA 1974 (from memory)",
	}
	formulaMoistureUncertainty = openapi.FormulaUsed{
		Of: "uncertainty", Name: "instrument, thermometer and method repeatability in quadrature", Source: "JCGM 100:2008",
	}
	formulaDensity = openapi.FormulaUsed{
		Of: "density", Name: "specific gravity table, linear between rows; cubic expansion 0.00043 a degree",
		Source: "White 1975; United States Standards for Grades of Extracted Honey 1985 (from memory)",
	}
	formulaViscosity = openapi.FormulaUsed{
		Of: "viscosity", Name: "Vogel-Tammann-Fulcher curve fitted to clover honey; other honeys within a factor of 3",
		Source: "Munro 1943, as given by White 1975 (from memory)",
	}
	formulaSpecificHeat = openapi.FormulaUsed{
		Of: "specific heat", Name: "2.26 kJ/(kg K) at 17.4 % and 20 C, slopes of sucrose solutions; published honey from 1 % below to 10 % above",
		Source: "0.54 cal/g/C of trade tables; Sugar Technologists Manual 1995 (slopes from memory)",
	}
	formulaConductivity = openapi.FormulaUsed{
		Of: "thermal conductivity", Name: "formula for sugar solutions and fruit juices; modern probes within 10 %", Source: "Riedel 1949 (from memory)",
	}
	formulaWaterActivity = openapi.FormulaUsed{
		Of: "water activity", Name: "isotherm of the sugars of mean honey; granulated 0.035 higher",
		Source: "Norrish 1966; constants of Chirife, Ferro Fontan and Benmergui 1980, composition of White 1962 (from memory)",
	}
	formulaGranulation = openapi.FormulaUsed{
		Of: "moisture of the liquid", Name: "water balance with glucose monohydrate of 9.09 % water", Source: "molar masses of glucose and water",
	}
	formulaHMF = openapi.FormulaUsed{
		Of: "HMF", Name: "zero order, Arrhenius 134.6 kJ/mol, 5.147 mg/kg a day at 50 C; nine honeys in ten within a factor of 2.37 from 40 to 60 C, 3.35 at 20 C, 4.06 at 80 C",
		Source: "published times to 30 and 40 mg/kg from 20 to 70 C, fitted in domain/heat",
	}
	formulaDiastase = openapi.FormulaUsed{
		Of: "diastase", Name: "first order, Arrhenius 147.3 kJ/mol, 0.1290 a day at 50 C; nine honeys in ten within a factor of 2",
		Source: "half-lives of White, Kushnir and Subers 1964, fitted in domain/heat; spread common practice",
	}
	formulaInvertase = openapi.FormulaUsed{
		Of: "invertase", Name: "first order, Arrhenius 169.1 kJ/mol, 0.5378 a day at 50 C; nine honeys in ten within a factor of 2",
		Source: "half-lives of White, Kushnir and Subers 1964, fitted in domain/heat; spread common practice",
	}
	formulaWarming = openapi.FormulaUsed{
		Of: "temperature of the tank", Name: "heat balance of one temperature with an ideal thermostat, in closed form", Source: "Newton's law of cooling",
	}
	formulaStanding = openapi.FormulaUsed{
		Of: "hours", Name: "conduction in a short cylinder, 100 terms; still air 10, blown air 25, water 300 W/(m2 K); crystals 105 kJ/kg",
		Source: "series of Carslaw and Jaeger; heat transfer from memory",
	}
	formulaSurfaceLoss = openapi.FormulaUsed{
		Of: "loss coefficient", Name: "area / (0.13 m2 K/W + insulation / conductivity)", Source: "ISO 6946",
	}
	formulaFittedLoss = openapi.FormulaUsed{
		Of: "loss coefficient", Name: "least squares on the heat balance of the log", Source: "JCGM 100:2008 for the uncertainty of a fitted slope",
	}
	formulaLaboratory = openapi.FormulaUsed{
		Of: "factor", Name: "posterior of a log-normal factor with an unknown start, integrated numerically",
		Source: "Bayes; uncertainty of a result without its own after Horwitz",
	}
	formulaSettling = openapi.FormulaUsed{
		Of: "rise", Name: "rigid spheres at low Reynolds number; wax 960 kg/m3", Source: "Stokes 1851",
	}
)

func formulaTank(form openapi.TankForm) openapi.FormulaUsed {
	switch form {
	case openapi.TankFormConeBottom:
		return openapi.FormulaUsed{Of: "volume", Name: "cone with its point down, and an upright cylinder over it", Source: "solid geometry"}
	case openapi.TankFormLyingCylinder:
		return openapi.FormulaUsed{Of: "volume", Name: "lying cylinder, each dished end half an ellipsoid of revolution", Source: "solid geometry"}
	case openapi.TankFormDipTable:
		return openapi.FormulaUsed{Of: "volume", Name: "cubic through the rows of the dip table, exact for boxes, cylinders and cones, never falling", Source: "solid geometry; Fritsch and Carlson 1980"}
	}
	return openapi.FormulaUsed{Of: "volume", Name: "base area times dip", Source: "solid geometry"}
}

func formulaColour(scale openapi.ColourScale) openapi.FormulaUsed {
	switch scale {
	case openapi.CanadaBulk:
		return openapi.FormulaUsed{Of: "class", Name: "honey other than consumer prepackaged", Source: "Canadian Grade Compendium, volume 6, table 2 (bands from memory)"}
	case openapi.CanadaConsumer:
		return openapi.FormulaUsed{Of: "class", Name: "consumer prepackaged honey", Source: "Canadian Grade Compendium, volume 6, table 1 (bands from memory)"}
	}
	return openapi.FormulaUsed{Of: "class", Name: "extracted honey, table I", Source: "United States Standards for Grades of Extracted Honey 1985"}
}

var formulaAbsorbance = openapi.FormulaUsed{
	Of: "mm Pfund", Name: "-38.70 + 371.39 times the absorbance at 635 nm", Source: "White 1984 (from memory)",
}
