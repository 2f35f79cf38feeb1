using System.Collections.Frozen;

namespace Incubation.Model.Terms;

/// <summary>
/// Units of UCUM that results, specimens and instruments of clinical laboratories are given in, and its prefixes;
/// case-sensitive (UCUM 2.1, tables of prefixes, base units and units, from memory).
/// </summary>
public static class UcumAtoms
{
    private static readonly FrozenSet<string> Prefixes = Set("Y Z E P T G M k h da d c m u n p f a z y Ki Mi Gi Ti");

    /// <summary>Units that take a prefix.</summary>
    private static readonly FrozenSet<string> Metric = Set(
        "m s g rad K C cd mol sr Hz N Pa J W A V F Ohm S Wb Cel T H lm lx Bq Gy Sv l L ar t bar u eV pc st dyn erg P "
        + "St Ci R RAD REM B Np bit By Bd "
        + "m[Hg] m[H2O] cal cal_th cal_IT kat U [iU] [IU] osm eq g% mho b G Mx Oe Gal Ky Lmb ph [S]");

    /// <summary>Units that take none.</summary>
    private static readonly FrozenSet<string> Plain = Set(
        "10* 10^ [pi] % [ppth] [ppm] [ppb] [pptr] gon deg ' '' min h d wk mo_s mo_j mo_g mo a_t a_j a_g a [degF] "
        + "[degRe] [in_i] [ft_i] [yd_i] [lb_av] [oz_av] [gr] "
        + "[pH] [drp] [HPF] [LPF] atm [g] [c] [arb'U] [USP'U] [GPL'U] [MPL'U] [APL'U] [beth'U] [anti'Xa'U] [todd'U] "
        + "[dye'U] [smgy'U] [bdsk'U] [ka'U] [knk'U] "
        + "[mclg'U] [tb'U] [CCID_50] [TCID_50] [EID_50] [PFU] [FFU] [CFU] [IR] [BAU] [AU] [Amb'a'1'U] [PNU] [Lf] "
        + "[D'ag'U] [FEU] [ELU] [EU] [hp'_X] [hp'_C] [mesh_i] "
        + "[Ch] [diop] [p'diop] [MET] bit_s [car_Au]");

    /// <summary>Whether a symbol is a unit, with a prefix where it takes one.</summary>
    public static bool IsUnit(string symbol)
    {
        ArgumentNullException.ThrowIfNull(symbol);
        return Plain.Contains(symbol) || Metric.Contains(symbol)
            || (symbol.Length > 1 && Prefixes.Contains(symbol[..1]) && Metric.Contains(symbol[1..]))
            || (symbol.Length > 2 && Prefixes.Contains(symbol[..2]) && Metric.Contains(symbol[2..]));
    }

    private static FrozenSet<string> Set(string words) => words.Split(' ').ToFrozenSet(StringComparer.Ordinal);
}
