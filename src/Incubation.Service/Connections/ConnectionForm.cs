using System.Collections.Immutable;
using System.Net;
using Incubation.Clinic.Connections;
using Incubation.Model;
using Incubation.Service.Text;

namespace Incubation.Service.Connections;

/// <summary>A destination as it was filled in.</summary>
public sealed class ConnectionForm
{
    /// <summary>The name that people read.</summary>
    public string? Name { get; set; }

    /// <summary>The address to which messages are posted.</summary>
    public string? Address { get; set; }

    /// <summary>What it is told of.</summary>
    public HashSet<NoticeTopic> Topics { get; init; } = [];

    /// <summary>What it is told of a result beside the request's id.</summary>
    public HashSet<NoticeField> Fields { get; init; } = [];

    /// <summary>Addresses in numbers that an administrator names, between commas or blanks.</summary>
    public string? Named { get; set; }

    /// <summary>A destination as it stands, to be changed.</summary>
    public static ConnectionForm Of(Destination destination)
    {
        ArgumentNullException.ThrowIfNull(destination);
        return new ConnectionForm
        {
            Name = destination.Name,
            Address = (destination.Way as DestinationWay.Webhook)?.Address,
            Topics = [.. destination.Topics],
            Fields = [.. destination.Fields],
            Named = string.Join(", ", destination.Named),
        };
    }

    /// <summary>Reads it, once: what is wrong stands by member, and then there is no destination.</summary>
    public (Destination? Destination, IReadOnlyList<FormFault> Faults) Read()
    {
        var faults = new List<FormFault>();
        var (name, address) = (Name?.Trim() ?? "", Address?.Trim() ?? "");
        if (!Bounds.IsName(name))
            faults.Add(new FormFault(nameof(Name), ConnectionsWords.NameFault));
        if (!Destination.IsAddress(address))
            faults.Add(new FormFault(nameof(Address), ConnectionsWords.AddressFault));
        if (Topics.Count == 0)
            faults.Add(new FormFault(nameof(Topics), ConnectionsWords.TopicsFault));
        var named = (Named ?? "").Split([',', ' ', ';', '\n'],
            StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries)
            .Select(one => IPAddress.TryParse(one, out var known) ? known.ToString() : null).Distinct().ToList();
        if (named.Contains(null) || named.Count > Destination.MaxNamed)
            faults.Add(new FormFault(nameof(Named), Say.Of(ConnectionsWords.NamedFault, Destination.MaxNamed)));
        if (faults.Count == 0 && address.StartsWith("http:", StringComparison.OrdinalIgnoreCase) && named.Count == 0)
            faults.Add(new FormFault(nameof(Address), ConnectionsWords.NotSecretFault));
        ImmutableArray<NoticeField> fields = Topics.Contains(NoticeTopic.Results) ? [.. Fields.Order()] : [];
        return faults.Count > 0 ? (null, faults) : (new Destination(name, new DestinationWay.Webhook(address),
            [.. Topics.Order()], fields, [.. named.OfType<string>()]), []);
    }
}
